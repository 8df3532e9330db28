// Readings typed on the page: the dialogue of 'record' and the measuring of 'fit', line by line.
#include <functional>

#include "cli/bench/answers.hpp"
#include "cli/readings/readings_profile.hpp"
#include "cli/readings/record_desk.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/thermal_option.hpp"
#include "rondure/measure/measure_readings.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
namespace {

// The options of 'record' that say how readings are read, as one text: another is another dialogue.
std::string how_read(const Fields& fields) {
  std::string how;
  for (const char* name : {"digits", "calibration", "temperature", "material"})
    how += field(fields, name) + '\n';
  return how;
}

// What 'fit --json' writes of these readings. `known`: the feature, where it has been worked out.
Result<json> record_of(const std::string& text, const std::string& name, const DeskOptions& options,
                       const Feature* known) {
  auto readings = parse_points(text, LengthUnit::kMm);
  if (!readings) return readings.error();
  PartRecord record;
  if (readings->profile) {
    auto profile = record_of_profile(name, *readings, options.stage ? &*options.stage : nullptr, {});
    if (!profile) return profile.error();
    record = std::move(*profile);
  } else {
    auto feature =
        known ? Result<Feature>(*known)
              : measure_readings(*readings, options.stage ? &*options.stage : nullptr, options.outline);
    if (!feature) return feature.error();
    feature->source.file = name;
    if (feature->name.empty()) feature->name = feature->kind.word();
    record.features = {std::move(*feature)};
  }
  return json::parse(to_json(record), nullptr, false);
}

// Words that act on readings which the asker must have seen as they are.
bool changes_readings(const std::string& line) {
  const std::string word = line.substr(0, line.find(' '));
  for (const char* known : {"undo", "delete", "correct", "keep", "yes", "again", "turned"})
    if (word == known) return true;
  return false;
}

}  // namespace

// The readings of a file as they stand, and what they give.
json BenchService::state_of(const fs::path& path, const std::string& answer, const Fields& fields,
                            const Feature* known) const {
  const std::string name = path.filename().string();
  json state{{"file", name}, {"answer", answer}};
  const auto bytes = read_file(path, std::size_t(64) << 20);
  state["text"] = bytes ? *bytes : "";
  state["revision"] = bytes ? sha256_hex(*bytes).substr(0, 16) : "";
  if (!bytes) return state["why"] = "no reading yet", state;
  const auto options = desk_options(fields);
  const auto record = options ? record_of(*bytes, name, *options, known) : Result<json>(options.error());
  if (record)
    state["record"] = *record;
  else
    state["why"] = record.error().message();
  return state;
}

// How the readings are read, from the fields of a question. Errors: kBadArgument, those of the stage's file.
Result<DeskOptions> BenchService::desk_options(const Fields& fields) const {
  DeskOptions options;
  const std::string digits = field(fields, "digits"), stage = field(fields, "calibration");
  if (digits.size() > 1 || digits.find_first_not_of("012345678") != std::string::npos)
    return Error{ErrorCode::kBadArgument, "found '" + digits + "' decimals, needed 0 to 8"};
  if (!digits.empty()) options.decimals = digits[0] - '0';
  if (!stage.empty()) {
    const auto path = folder_.file(stage, FileKind::kRecord);
    if (!path) return path.error();
    auto loaded = load_stage_calibration(path->string());
    if (!loaded) return Error{loaded.error().code, stage + " is no comparator stage's file"};
    options.stage = std::move(*loaded);
  }
  CommonOptions said;
  said.temperature = field(fields, "temperature"), said.material = field(fields, "material");
  if (const auto ok = read_temperature(said, options.outline); !ok) return ok.error();
  return options;
}

Reply BenchService::readings(const Question& question) {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  return good(state_of(*path, "", question.parameters));
}

Reply BenchService::type_line(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string name = field(*fields, "file"), line = field(*fields, "line"),
                    unit = field(*fields, "unit"), seen = field(*fields, "seen");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  if (line.find_first_of("\r\n") != std::string::npos) return refusal(400, "found several lines, needed one");
  if (!unit.empty() && !parse_unit(unit)) return refusal(400, "found no unit that readings have");
  if (const auto how = desk_options(*fields); !how) return refusal(400, how.error().message());
  const std::scoped_lock lock(readings_mutex_);  // one line after the other, as they came
  const bool changed = !seen.empty() && revision_of(*path) != seen;
  if (changed && changes_readings(line)) {
    json state = state_of(
        *path, "not done: the readings have changed elsewhere meanwhile; look, and ask again", *fields);
    Reply reply = good(state);
    reply.status = 409;
    return reply;
  }
  auto desk = desk_for(*path, *fields);
  if (!desk) return refusal(desk.error().code == ErrorCode::kFileLocked ? 423 : 422, desk.error().message());
  std::string said = (*desk)->answer(line);
  const bool taken = (*desk)->all_taken();
  if (changed) said += " (readings were added elsewhere meanwhile: all are kept)";
  if (const fs::path now = (*desk)->session().file(); now.filename() != path->filename()) {
    desks_.erase(*path);  // somebody else's file is left alone, ours goes on beside it
    return good(state_of(now, said, *fields));
  }
  json state = state_of(*path, said, *fields, (*desk)->measured_file());
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
Result<RecordDesk*> BenchService::desk_for(const fs::path& path, const Fields& fields) {
  constexpr std::size_t kMostDesks = 8;  // dialogues kept in memory; more begin again from their files
  const std::string asked = field(fields, "unit"), how = how_read(fields);
  const LengthUnit unit = parse_unit(asked).value_or(LengthUnit::kMm);
  const auto at = desks_.find(path);
  if (at != desks_.end() && at->second.left == revision_of(path) && at->second.how == how &&
      (asked.empty() || at->second.desk->session().unit() == unit))
    return at->second.desk.get();
  if (at != desks_.end()) desks_.erase(at);
  auto options = desk_options(fields);
  if (!options) return options.error();
  const auto along = read_along(field(fields, "along"));
  if (!along) return along.error();
  auto session = Session::open(path, unit, !asked.empty());
  if (!session) return session.error();
  if (*along)
    if (const auto done = session->set_profile(**along); !done) return done.error();
  if (!field(fields, "arc").empty())
    if (const auto done = session->set_arc(); !done) return done.error();
  if (desks_.size() >= kMostDesks) desks_.clear();
  auto& made = desks_[path];
  made = {std::make_unique<RecordDesk>(std::move(*session), std::move(*options)), how, ""};
  return made.desk.get();
}

// The answer of one file of readings or of several, a feature each: into a record, or only looked at.
Reply BenchService::keep(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part");
  std::vector<std::string> files = lines_of(field(*fields, "others"));
  files.insert(files.begin(), field(*fields, "file"));
  if (const auto all = folder_.files(files, FileKind::kReadings); !all) return refusal(all.error());
  std::vector<std::string> arguments{"fit"};
  arguments.insert(arguments.end(), files.begin(), files.end());
  pass_on(arguments, *fields,
          {"feature", "kind", "sigma", "form", "nominal", "along", "temperature", "material", "unit"});
  if (!field(*fields, "plain").empty()) arguments.push_back("--plain");
  if (const auto bad = files_of(arguments, *fields, {"calibration"}, FileKind::kRecord)) return *bad;
  std::string id;
  const fs::path found = next_drawing("fit-", ".json", id);
  option(arguments, "json", found.string());
  arguments.push_back("--all");
  const auto answered = [&](const ChildAnswer& child) {
    const auto record = read_file(found);
    std::error_code code;
    fs::remove(found, code);
    return good({{"text", child.out}, {"record", record ? parsed(*record) : json()}});
  };
  if (!part.empty()) {
    if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
    option(arguments, "save", part);
    return change(*fields, part, arguments, answered);
  }
  const ChildAnswer child = run(*fields, arguments);
  return child.exit_code == 0 ? answered(child) : refusal(422, why(child));
}

}  // namespace rondure::cli
