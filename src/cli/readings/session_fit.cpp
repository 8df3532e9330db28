#include "cli/readings/session_fit.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/measure/measure_readings.hpp"
#include "rondure/readings/points_file.hpp"

namespace rondure::cli {
namespace {

double step_mm(const Session& session, int decimals) {
  return std::pow(10.0, -decimals) * mm_per(session.unit());
}

}  // namespace

bool is_point(const SessionReading& reading) {
  return std::holds_alternative<MeasuredPoint>(reading.reading.value) ||
         std::holds_alternative<PolarReading>(reading.reading.value);
}

MeasuredPoint point_read(const SessionReading& reading) {
  if (const auto* point = std::get_if<MeasuredPoint>(&reading.reading.value)) return *point;
  return point_of(std::get<PolarReading>(reading.reading.value));
}

PartPoint SessionFit::on_part(PartPoint read_at) const {
  return stage_ ? stage_->part_from_stage({read_at.x_mm, read_at.y_mm}) : read_at;
}

RunningOptions SessionFit::options(const Session& session) const {
  return {step_mm(session, decimals_), session.arc()};
}

void SessionFit::one_more(const Session& session, const SessionReading& reading) {
  if (!is_point(reading) || session.profile()) return;
  if (reading.reading.decimals > decimals_) {
    decimals_ = reading.reading.decimals;
    running_.set_options(options(session));
  }
  numbers_.push_back(reading.number);
  places_.push_back(on_part(point_read(reading).at));
  running_.add(places_.back(), reading.confirmed);
}

void SessionFit::anew(const Session& session) {
  numbers_.clear();
  places_.clear();
  part_.reset();
  decimals_ = 0;
  for (const auto& r : session.readings()) decimals_ = std::max(decimals_, r.reading.decimals);
  running_ = RunningFit(options(session));
  if (session.profile()) return;  // no circle runs along an axis
  for (const auto& r : session.readings())
    if (is_point(r) && r.orientation_rad == session.orientation_rad()) one_more(session, r);
  measure(session);
}

std::optional<std::size_t> SessionFit::index_of(int number) const {
  const auto at = std::find(numbers_.begin(), numbers_.end(), number);
  if (at == numbers_.end()) return std::nullopt;
  return std::size_t(at - numbers_.begin());
}

std::optional<int> SessionFit::newly_doubted(const std::vector<int>& asked) const {
  for (std::size_t i = numbers_.size(); i-- > 0;)
    if (doubted(i) && std::find(asked.begin(), asked.end(), numbers_[i]) == asked.end()) return numbers_[i];
  return std::nullopt;
}

double SessionFit::misfit(PartPoint read_at) const {
  return now().deviation_of_mm(on_part(read_at)) / now().scatter_mm;
}

// The part's values, and which readings are left out, as `fit` and the record have them: by the same function of the
// same text. So many readings that it would take long: the running fit alone, until somebody asks (`most`).
void SessionFit::measure(const Session& session, std::size_t most) {
  part_.reset();
  of_file_ = false;
  if (numbers_.size() < 4 || numbers_.size() > most) return;
  const auto parsed = parse_points(session.text(), session.unit());
  if (!parsed) return;
  auto feature = measure_readings(*parsed, stage(), outline_);
  if (!feature || !feature->circle)
    return measure_this_lie(session);  // turned, and not yet read round afresh
  std::vector<char> left_out(numbers_.size(), 0);
  for (const ExcludedSector& sector : feature->excluded)
    for (const int line : sector.lines) {
      const auto& lines = parsed->line_of_reading;  // by number
      const int number = static_cast<int>(std::find(lines.begin(), lines.end(), line) - lines.begin()) + 1;
      if (const auto at = index_of(number)) left_out[*at] = 1;
    }
  running_.judge(std::move(left_out));
  part_ = std::move(*feature);
  of_file_ = true;
}

void SessionFit::measure_this_lie(const Session& session) {
  std::vector<MeasuredPoint> points;
  for (std::size_t i = 0; i < numbers_.size(); ++i)
    if (!doubted(i)) points.push_back({places_[i]});
  if (points.size() < 4) return;
  OutlineOptions outline = outline_;
  outline.resolution_mm = step_mm(session, decimals_);
  if (auto feature = measure_outline(points, outline); feature && feature->circle)
    part_ = std::move(*feature);
}

}  // namespace rondure::cli
