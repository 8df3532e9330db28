#include "service.hpp"

#include <functional>
#include <nlohmann/json.hpp>
#include <optional>

#include "child.hpp"
#include "rondure/record/part_record.hpp"
#include "rondure/report/page.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
namespace {

constexpr std::size_t kLargestRecord = std::size_t(16) << 20;
constexpr std::size_t kLargestText = 4096;  // of one field of a question

std::string text_of(const json& object) {
  return object.dump(-1, ' ', false, json::error_handler_t::replace);
}

Reply refusal(int status, const std::string& why) {
  Reply reply;
  reply.status = status;
  reply.body = text_of({{"error", why}});
  return reply;
}

Reply refusal(const Error& error) {
  return refusal(error.code == ErrorCode::kFileMissing ? 404 : 400, error.detail);
}

Reply good(const json& object) {
  Reply reply;
  reply.body = text_of(object);
  return reply;
}

// The fields of a question: an object of short texts, and nothing else.
std::optional<std::map<std::string, std::string>> fields_of(const Question& question) {
  if (question.content_type != "application/json") return std::nullopt;
  const json object = json::parse(question.body, nullptr, false);
  if (!object.is_object()) return std::nullopt;
  std::map<std::string, std::string> fields;
  for (const auto& [key, value] : object.items()) {
    if (!value.is_string()) return std::nullopt;
    const auto text = value.get<std::string>();
    if (text.size() > kLargestText || text.find('\0') != std::string::npos) return std::nullopt;
    fields[key] = text;
  }
  return fields;
}

const Reply kNotUnderstood = refusal(400, "found no object of short texts, needed one");

std::string field(const std::map<std::string, std::string>& fields, const std::string& name) {
  const auto at = fields.find(name);
  return at == fields.end() ? std::string() : at->second;
}

// "--name=value" where there is a value: it cannot be taken for another option.
void option(std::vector<std::string>& arguments, const std::string& name, const std::string& value) {
  if (!value.empty()) arguments.push_back("--" + name + "=" + value);
}

// The sentence behind "rondure: " of a command that failed.
std::string first_line(std::string text) {
  text = text.substr(0, text.find('\n'));
  constexpr std::string_view kSays = "rondure: ";
  return text.starts_with(kSays) ? text.substr(kSays.size()) : text;
}

std::string why(const ChildAnswer& child) {
  if (!child.err.empty()) return first_line(child.err);
  return child.exit_code < 0 ? "it took too long and was stopped" : "it failed without a word";
}

json brief(const Feature& feature) {
  json line{{"name", feature.name}};
  if (feature.circle) {
    line["diameter_mm"] = feature.circle->diameter_mm;
    if (feature.circle->u_diameter_mm) line["u_diameter_mm"] = *feature.circle->u_diameter_mm;
  }
  line["time"] = feature.source.time;
  line["file"] = feature.source.file;
  return line;
}

std::string entry_of(const std::string& name, const PartRecord& record) {
  json features = json::array();
  std::string time;
  for (const Feature& feature : record.features) {
    features.push_back(brief(feature));
    time = std::max(time, feature.source.time);
  }
  return text_of({{"file", name},
                  {"name", record.name},
                  {"material", record.material},
                  {"time", time},
                  {"sentence", answer_sentence(record)},
                  {"features", features}});
}

std::string picture_type(const std::string& name) {
  const auto ending = name.substr(name.rfind('.') + 1);
  const char first = ending.empty() ? ' ' : ending[0];
  return first == 'p' || first == 'P'   ? "image/png"
         : first == 't' || first == 'T' ? "image/tiff"
                                        : "image/jpeg";
}

}  // namespace

Result<std::unique_ptr<BenchService>> BenchService::make(BenchFolder folder, bool read_only) {
  std::string name = (fs::temp_directory_path() / "rondure-bench-XXXXXX").string();
  if (!::mkdtemp(name.data()))
    return Error{ErrorCode::kFileUnwritable,
                 "no folder for drawings could be made in " + fs::temp_directory_path().string()};
  return std::unique_ptr<BenchService>(new BenchService(std::move(folder), read_only, name));
}

BenchService::BenchService(BenchFolder folder, bool read_only, fs::path drawn)
    : folder_(std::move(folder)), read_only_(read_only), drawn_(std::move(drawn)) {}

BenchService::~BenchService() {
  std::error_code code;
  fs::remove_all(drawn_, code);
}

Reply BenchService::answer(const Question& question) {
  using Handler = std::function<Reply()>;
  const std::map<std::pair<std::string, std::string>, Handler> known = {
      {{"GET", "/api/parts"}, [&] { return parts(); }},
      {{"GET", "/api/part"}, [&] { return part(question); }},
      {{"GET", "/api/report"}, [&] { return report(question); }},
      {{"GET", "/api/picture"}, [&] { return picture(question); }},
      {{"GET", "/api/overlay"}, [&] { return overlay(question); }},
      {{"GET", "/api/readings"}, [&] { return readings(question); }},
      {{"POST", "/api/readings"}, [&] { return type_line(question); }},
      {{"POST", "/api/keep"}, [&] { return keep(question); }},
      {{"POST", "/api/picture"}, [&] { return take_picture(question); }},
      {{"POST", "/api/measure"}, [&] { return measure(question); }},
      {{"POST", "/api/original"}, [&] { return original(question); }},
      {{"POST", "/api/plan"}, [&] { return plan(question); }},
  };
  const auto handler = known.find({question.method, question.path});
  if (handler == known.end()) return refusal(404, "there is nothing of that name here");
  if (question.method != "GET" && read_only_) return refusal(403, "this page was started with --read-only");
  return handler->second();
}

Reply BenchService::parts() {
  const std::scoped_lock lock(list_mutex_);
  std::string lines;
  for (const std::string& name : folder_.names(FileKind::kRecord)) {
    const fs::path path = folder_.path() / name;
    std::error_code code;
    const auto changed = fs::last_write_time(path, code);
    if (code) continue;
    auto& seen = seen_[name];
    if (seen.changed != changed) {
      const auto bytes = read_file(path, kLargestRecord);
      const auto record =
          bytes ? parse_part_record(*bytes) : Result<PartRecord>(Error{ErrorCode::kFileUnreadable, ""});
      seen = {changed, record ? entry_of(name, *record) : ""};
    }
    if (!seen.line.empty()) lines += (lines.empty() ? "" : ",") + seen.line;
  }
  json others = json::array();
  for (const std::string& name : folder_.names(FileKind::kRecord))
    if (seen_[name].line.empty()) others.push_back(name);
  Reply reply;
  reply.body = "{\"read_only\":" + std::string(read_only_ ? "true" : "false") + ",\"parts\":[" + lines +
               "],\"readings\":" + text_of(folder_.names(FileKind::kReadings)) +
               ",\"pictures\":" + text_of(folder_.names(FileKind::kPicture)) +
               ",\"calibrations\":" + text_of(others) + "}";
  return reply;
}

Reply BenchService::part(const Question& question) const {
  const auto path = folder_.file(field(question.parameters, "file"), FileKind::kRecord);
  if (!path) return refusal(path.error());
  const auto bytes = read_file(*path, kLargestRecord);
  if (!bytes) return refusal(bytes.error());
  if (const auto record = parse_part_record(*bytes); !record) return refusal(record.error());
  Reply reply;
  reply.body = *bytes;
  return reply;
}

Reply BenchService::report(const Question& question) {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kRecord);
  if (!path) return refusal(path.error());
  const fs::path page = drawn_ / ("page-" + std::to_string(next_drawing_++) + ".html");
  const auto child = run_self(folder_.path(), {"report", name, "-o", page.string()});
  if (child.exit_code != 0) return refusal(422, why(child));
  auto bytes = read_file(page);
  std::error_code code;
  fs::remove(page, code);
  if (!bytes) return refusal(bytes.error());
  Reply reply;
  reply.type = "text/html; charset=utf-8";
  reply.body = std::move(*bytes);
  reply.page_of_its_own = true;
  return reply;
}

Reply BenchService::picture(const Question& question) const {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kPicture);
  if (!path) return refusal(path.error());
  auto bytes = read_file(*path);
  if (!bytes) return refusal(bytes.error());
  Reply reply;
  reply.type = picture_type(name);
  reply.body = std::move(*bytes);
  return reply;
}

Reply BenchService::overlay(const Question& question) const {
  const std::string id = field(question.parameters, "id");
  if (id.empty() || id.size() > 9 || id.find_first_not_of("0123456789") != std::string::npos)
    return refusal(400, "needed the number of a drawing");
  auto bytes = read_file(drawn_ / ("overlay-" + id + ".png"));
  if (!bytes) return refusal(404, "that drawing is not there any more");
  Reply reply;
  reply.type = "image/png";
  reply.body = std::move(*bytes);
  return reply;
}

// What 'record' lists and 'fit' measures, as they stand now.
std::string BenchService::state_of_readings(const std::string& file, const std::string& answer) {
  json state{{"file", file}, {"answer", answer}};
  const auto bytes = read_file(folder_.path() / file, std::size_t(64) << 20);
  state["text"] = bytes ? *bytes : "";
  const auto fit = run_self(folder_.path(), {"fit", file, "--json", "-"});
  if (fit.exit_code == 0)
    state["record"] = json::parse(fit.out, nullptr, false);
  else
    state["why"] = why(fit);
  return text_of(state);
}

Reply BenchService::readings(const Question& question) {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  Reply reply;
  reply.body = state_of_readings(name, "");
  return reply;
}

Reply BenchService::type_line(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return kNotUnderstood;
  const std::string name = field(*fields, "file"), line = field(*fields, "line");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  if (line.find_first_of("\r\n") != std::string::npos) return refusal(400, "found several lines, needed one");
  std::vector<std::string> arguments{"record", name};
  option(arguments, "unit", field(*fields, "unit"));
  option(arguments, "digits", field(*fields, "digits"));
  ChildAnswer child;
  {
    const std::scoped_lock lock(readings_mutex_);  // one line after the other, as they came
    child = run_self(folder_.path(), arguments, line + "\n");
  }
  if (child.exit_code != 0 && child.out.empty()) return refusal(422, why(child));
  std::string said = child.out;
  while (!said.empty() && said.back() == '\n') said.pop_back();
  Reply reply;
  reply.body = state_of_readings(name, said);
  if (child.exit_code != 0) reply.status = 422;  // the line was not taken; the answer says why
  return reply;
}

Reply BenchService::keep(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return kNotUnderstood;
  const std::string name = field(*fields, "file"), part = field(*fields, "part");
  const auto readings = folder_.file(name, FileKind::kReadings);
  if (!readings) return refusal(readings.error());
  const auto record = folder_.file(part, FileKind::kRecord);
  if (!record) return refusal(record.error());
  std::vector<std::string> arguments{"fit", name, "--save", part};
  option(arguments, "feature", field(*fields, "feature"));
  option(arguments, "kind", field(*fields, "kind"));
  const auto child = run_self(folder_.path(), arguments);
  if (child.exit_code != 0) return refusal(422, why(child));
  return good({{"text", child.out}});
}

Reply BenchService::take_picture(const Question& question) {
  if (!question.content_type.starts_with("image/")) return refusal(415, "needed a picture");
  const auto name = folder_.free_name(field(question.parameters, "name"), FileKind::kPicture);
  if (!name) return refusal(name.error());
  if (const auto written = write_file_atomically(folder_.path() / *name, question.body); !written)
    return refusal(507, written.error().detail);
  return good({{"picture", *name}});
}

Reply BenchService::measure(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return kNotUnderstood;
  const std::string name = field(*fields, "picture"), part = field(*fields, "part"),
                    calibration = field(*fields, "calibration");
  if (const auto path = folder_.file(name, FileKind::kPicture); !path) return refusal(path.error());
  std::vector<std::string> arguments{"measure", name};
  if (!calibration.empty()) {
    if (const auto path = folder_.file(calibration, FileKind::kRecord); !path) return refusal(path.error());
    option(arguments, "calibration", calibration);
  }
  if (!part.empty()) {
    if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
    option(arguments, "save", part);
  }
  for (const char* known : {"board", "square", "height", "scale", "near", "material", "feature", "kind"})
    option(arguments, known, field(*fields, known));
  const std::string id = std::to_string(next_drawing_++);
  const fs::path drawing = drawn_ / ("overlay-" + id + ".png");
  arguments.insert(arguments.end(), {"--json", "-", "--overlay", drawing.string()});
  const auto child = run_self(folder_.path(), arguments);
  if (child.exit_code != 0) return refusal(422, why(child));
  json found{{"record", json::parse(child.out, nullptr, false)}};
  if (fs::exists(drawing)) found["overlay"] = id;
  if (!child.err.empty()) found["notes"] = child.err;
  return good(found);
}

Reply BenchService::original(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return kNotUnderstood;
  const std::string part = field(*fields, "part");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  std::vector<std::string> arguments{"original", part, "--save", part};
  option(arguments, "material", field(*fields, "material"));
  option(arguments, "on-metal", field(*fields, "on_metal"));
  option(arguments, "evidence", field(*fields, "evidence"));
  const auto child = run_self(folder_.path(), arguments);
  if (child.exit_code != 0) return refusal(422, why(child));
  return good({{"text", child.out}});
}

Reply BenchService::plan(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return kNotUnderstood;
  const std::string part = field(*fields, "part");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  std::vector<std::string> arguments{"plan", part, "--save"};
  option(arguments, "shaft", field(*fields, "shaft"));
  option(arguments, "material-new", field(*fields, "material_new"));
  const auto child = run_self(folder_.path(), arguments);
  if (child.exit_code != 0) return refusal(422, why(child));
  return good({{"text", child.out}});
}

}  // namespace rondure::cli
