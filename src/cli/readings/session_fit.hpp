// The fit of a session while it is typed: the circle through the readings of the present lie, and the part's own values as
// `fit` gives them of the same file.
#pragma once
#include <optional>
#include <vector>

#include "rondure/interpret/outline.hpp"
#include "rondure/interpret/running_fit.hpp"
#include "rondure/readings/session.hpp"
#include "rondure/readings/stage.hpp"

namespace rondure::cli {

// Up to so many readings the part's own values are given after each; beyond, those of the running fit.
inline constexpr std::size_t kMostMeasuredLive = 200;

// A reading of a point of the outline, typed as x y or as angle and deviation.
bool is_point(const SessionReading& reading);
MeasuredPoint point_read(const SessionReading& reading);  // of one that is a point

class SessionFit {
public:
  // `outline` holds the temperature: the part's values are those at 20 C.
  SessionFit(std::optional<StageCalibration> stage, OutlineOptions outline)
      : stage_(std::move(stage)), outline_(std::move(outline)) {}

  void anew(const Session& session);
  void one_more(const Session& session, const SessionReading& reading);
  // Works the part's values out where the lie has 4 readings or more and at most so many.
  void measure(const Session& session, std::size_t most = kMostMeasuredLive);

  const RunningAnswer& now() const { return running_.answer(); }
  const std::vector<int>& numbers() const { return numbers_; }  // of the readings in the running fit
  bool doubted(std::size_t index) const { return running_.doubted()[index]; }
  std::optional<std::size_t> index_of(int number) const;
  // The newest of the readings that are in doubt and are not among those asked about.
  std::optional<int> newly_doubted(const std::vector<int>& asked) const;
  // How far off the circle a reading would lie there, in units of the scatter.
  double misfit(PartPoint read_at) const;

  const std::optional<Feature>& part() const { return part_; }
  // What `fit` gives of the file as it stands; null where it has not been worked out.
  const Feature* of_file() const { return of_file_ && part_ ? &*part_ : nullptr; }
  double at_20_c_ratio() const { return outline_.at_20_c_ratio(); }
  const StageCalibration* stage() const { return stage_ ? &*stage_ : nullptr; }
  const OutlineOptions& outline() const { return outline_; }
  int decimals() const { return decimals_; }  // of the finest reading

private:
  PartPoint on_part(PartPoint read_at) const;
  RunningOptions options(const Session& session) const;
  void measure_this_lie(const Session& session);

  std::optional<StageCalibration> stage_;
  OutlineOptions outline_;
  RunningFit running_;
  std::vector<int> numbers_;
  std::vector<PartPoint> places_;
  std::optional<Feature> part_;
  bool of_file_ = false;  // part_ is of the whole file; else of the present lie alone
  int decimals_ = 0;
};

}  // namespace rondure::cli
