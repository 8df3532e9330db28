// Readings typed on the page: the dialogue of 'record' and the measuring of 'fit', line by line.
#include <functional>

#include "cli/bench/answers.hpp"
#include "cli/readings/record_desk.hpp"
#include "rondure/measure/measure_readings.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
namespace {

// The readings of a file as they stand, and what they give: what 'fit --json' writes. `known`: that answer, where it has
// been worked out.
json state_of(const fs::path& path, const std::string& name, const std::string& answer,
              const Feature* known = nullptr) {
  json state{{"file", name}, {"answer", answer}};
  const auto bytes = read_file(path, std::size_t(64) << 20);
  state["text"] = bytes ? *bytes : "";
  state["revision"] = bytes ? sha256_hex(*bytes).substr(0, 16) : "";
  if (!bytes) return state["why"] = "no reading yet", state;
  auto feature = known ? Result<Feature>(*known) : measure_readings(*bytes);
  if (!feature) return state["why"] = feature.error().message(), state;
  feature->source.file = name;
  if (feature->name.empty()) feature->name = feature->kind.word();
  PartRecord record;
  record.features = {std::move(*feature)};
  state["record"] = json::parse(to_json(record), nullptr, false);
  return state;
}

// Words that act on readings which the asker must have seen as they are.
bool changes_readings(const std::string& line) {
  const std::string word = line.substr(0, line.find(' '));
  for (const char* known : {"undo", "delete", "correct", "keep", "yes", "again", "turned"})
    if (word == known) return true;
  return false;
}

}  // namespace

Reply BenchService::readings(const Question& question) {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  return good(state_of(*path, name, ""));
}

Reply BenchService::type_line(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string name = field(*fields, "file"), line = field(*fields, "line"),
                    unit = field(*fields, "unit"), digits = field(*fields, "digits"),
                    seen = field(*fields, "seen");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  if (line.find_first_of("\r\n") != std::string::npos) return refusal(400, "found several lines, needed one");
  const auto of_unit = parse_unit(unit.empty() ? "mm" : unit);
  if (!of_unit || digits.size() > 1 || digits.find_first_not_of("012345678") != std::string::npos)
    return refusal(400, "found no unit or no number of digits that readings have");
  const std::scoped_lock lock(readings_mutex_);  // one line after the other, as they came
  const bool changed = !seen.empty() && revision_of(*path) != seen;
  if (changed && changes_readings(line)) {
    json state =
        state_of(*path, name, "not done: the readings have changed elsewhere meanwhile; look, and ask again");
    Reply reply = good(state);
    reply.status = 409;
    return reply;
  }
  auto desk = desk_for(*path, *of_unit, !unit.empty(), digits);
  if (!desk) return refusal(desk.error().code == ErrorCode::kFileLocked ? 423 : 422, desk.error().message());
  std::string said = (*desk)->answer(line);
  const bool taken = (*desk)->all_taken();
  if (changed) said += " (readings were added elsewhere meanwhile: all are kept)";
  if (const fs::path now = (*desk)->session().file(); now.filename() != path->filename()) {
    desks_.erase(*path);  // somebody else's file is left alone, ours goes on beside it
    return good(state_of(now, now.filename().string(), said));
  }
  json state = state_of(*path, name, said, (*desk)->measured_file());
  if (const auto next_deg = (*desk)->next_deg()) state["next_deg"] = *next_deg;
  if (taken)
    desks_[*path].left = state["revision"];
  else
    desks_.erase(*path);
  Reply reply = good(state);
  if (!taken) reply.status = 422;  // the line was not taken; the answer says why
  return reply;
}

// The dialogue on a file goes on where it was, as long as nobody else has changed the file since.
Result<RecordDesk*> BenchService::desk_for(const fs::path& path, LengthUnit unit, bool unit_asked,
                                           const std::string& digits) {
  constexpr std::size_t kMostDesks = 8;
  const auto at = desks_.find(path);
  if (at != desks_.end() && at->second.left == revision_of(path) && at->second.digits == digits &&
      (!unit_asked || at->second.desk->session().unit() == unit))
    return at->second.desk.get();
  if (at != desks_.end()) desks_.erase(at);
  auto session = Session::open(path, unit, unit_asked);
  if (!session) return session.error();
  DeskOptions options;
  if (!digits.empty()) options.decimals = digits[0] - '0';
  if (desks_.size() >= kMostDesks) desks_.clear();
  auto& made = desks_[path];
  made = {std::make_unique<RecordDesk>(std::move(*session), options), digits, ""};
  return made.desk.get();
}

Reply BenchService::keep(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string name = field(*fields, "file"), part = field(*fields, "part");
  const auto readings = folder_.file(name, FileKind::kReadings);
  if (!readings) return refusal(readings.error());
  const auto record = folder_.file(part, FileKind::kRecord);
  if (!record) return refusal(record.error());
  std::vector<std::string> arguments{"fit", name, "--save", part};
  option(arguments, "feature", field(*fields, "feature"));
  for (const char* said : {"kind", "sigma", "form", "nominal", "temperature", "material"})
    option(arguments, said, field(*fields, said));
  if (const std::string stage = field(*fields, "calibration"); !stage.empty()) {
    if (const auto path = folder_.file(stage, FileKind::kRecord); !path) return refusal(path.error());
    option(arguments, "calibration", stage);
  }
  return change(*fields, part, arguments, [](const ChildAnswer& child) {
    return good({{"text", child.out}});
  });
}

}  // namespace rondure::cli
