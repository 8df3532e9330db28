#include "cli/bench/service.hpp"

#include <algorithm>
#include <functional>

#include "cli/bench/answers.hpp"
#include "cli/bench/named_in_text.hpp"
#include "cli/readings/record_desk.hpp"
#include "cli/terminal/bench_file.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/record/part_record.hpp"
#include "rondure/report/page.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
namespace {

constexpr std::size_t kLargestRecord = std::size_t(16) << 20;  // bytes: no record comes near

json brief(const Feature& feature) {
  json line{{"name", feature.name}, {"kind", std::string(feature.kind.word())}};
  if (feature.circle) {
    line["diameter_mm"] = feature.circle->diameter_mm;
    if (feature.circle->u_diameter_mm) line["u_diameter_mm"] = *feature.circle->u_diameter_mm;
  }
  line["time"] = feature.source.time;
  line["file"] = feature.source.file;
  return line;
}

std::string entry_of(const std::string& name, const PartRecord& record, const BenchFolder& folder) {
  json features = json::array();
  std::string time, picture;
  for (const Feature& feature : record.features) {
    features.push_back(brief(feature));
    time = std::max(time, feature.source.time);
    if (picture.empty() && feature.source.type == SourceType::kPhoto)
      if (const auto path =
              folder.file(fs::path(feature.source.file).filename().string(), FileKind::kPicture);
          path && fs::exists(*path))
        picture = path->filename().string();
  }
  return text_of({{"file", name},
                  {"name", record.name},
                  {"material", record.material},
                  {"time", time},
                  {"picture", picture},
                  {"sentence", answer_sentence(record)},
                  {"sentence_in", answer_sentence(record, LengthUnit::kInch)},
                  {"features", features}});
}

// Of the endings that a folder's pictures have; no browser shows a raw one.
std::string picture_type(const std::string& name) {
  std::string ending = name.substr(name.rfind('.') + 1);
  std::ranges::transform(ending, ending.begin(), [](unsigned char c) { return char(std::tolower(c)); });
  if (ending == "jpg" || ending == "jpeg") return "image/jpeg";
  if (ending == "png" || ending == "avif") return "image/" + ending;
  if (ending == "tif" || ending == "tiff") return "image/tiff";
  if (ending == "heic" || ending == "heif") return "image/heic";
  return "application/octet-stream";
}

// Where a file could not be read: its name, and not where the folder lies.
Reply not_there(const std::string& name) {
  return refusal(404, "there is no " + name + " here that can be read");
}

// Looking at photographs, readings and sets writes nothing into the folder; everything else that is posted may.
bool changes(const Question& question) {
  if (question.method == "GET" || question.path == "/api/stop" || question.path == "/api/wear" ||
      question.path == "/api/report")
    return false;
  const bool looks =
      question.path == "/api/measure" || question.path == "/api/keep" || question.path == "/api/set";
  const auto fields = looks ? fields_of(question) : std::nullopt;
  return !fields || !field(*fields, question.path == "/api/set" ? "learn" : "part").empty();
}

}  // namespace

Result<std::unique_ptr<BenchService>> BenchService::make(BenchFolder folder, bool read_only) {
  auto drawn = RunFolder::make();
  if (!drawn) return drawn.error();
  return std::unique_ptr<BenchService>(new BenchService(std::move(folder), read_only, std::move(*drawn)));
}

BenchService::BenchService(BenchFolder folder, bool read_only, std::unique_ptr<RunFolder> drawn)
    : folder_(std::move(folder)), read_only_(read_only), drawn_(std::move(drawn)) {}

BenchService::~BenchService() = default;

Reply BenchService::answer(const Question& question) {
  using Handler = std::function<Reply()>;
  const std::map<std::pair<std::string, std::string>, Handler> known = {
      {{"GET", "/api/parts"}, [&] { return parts(); }},
      {{"GET", "/api/part"}, [&] { return part(question); }},
      {{"GET", "/api/report"}, [&] { return report(question); }},
      {{"GET", "/api/picture"}, [&] { return picture(question); }},
      {{"GET", "/api/overlay"}, [&] { return drawn(question, "overlay-", ".png", "image/png"); }},
      {{"GET", "/api/drawing"}, [&] { return drawn(question, "drawing-", ".svg", "image/svg+xml"); }},
      {{"GET", "/api/section"}, [&] { return section(question); }},
      {{"GET", "/api/table"}, [&] { return table(question); }},
      {{"GET", "/api/materials"}, [&] { return materials(); }},
      {{"POST", "/api/table"}, [&] { return write_table(question); }},
      {{"POST", "/api/set"}, [&] { return set(question); }},
      {{"POST", "/api/wear"}, [&] { return wear(question); }},
      {{"GET", "/api/progress"}, [&] { return progress(question); }},
      {{"GET", "/api/sheet"}, [&] { return sheet(question); }},
      {{"GET", "/api/compare"}, [&] { return compare(question); }},
      {{"GET", "/api/limits"}, [&] { return limits(question); }},
      {{"POST", "/api/stop"}, [&] { return stop(question); }},
      {{"POST", "/api/report"}, [&] { return draw_report(question); }},
      {{"POST", "/api/sheet"}, [&] { return fill_sheet(question); }},
      {{"GET", "/api/readings"}, [&] { return readings(question); }},
      {{"POST", "/api/readings"}, [&] { return type_line(question); }},
      {{"POST", "/api/keep"}, [&] { return keep(question); }},
      {{"POST", "/api/picture"}, [&] { return take_picture(question); }},
      {{"POST", "/api/measure"}, [&] { return measure(question); }},
      {{"POST", "/api/add"}, [&] { return add(question); }},
      {{"POST", "/api/original"}, [&] { return original(question); }},
      {{"POST", "/api/plan"}, [&] { return plan(question); }},
  };
  if (question.method == "GET" && question.path.starts_with("/api/pages/")) return page_of_set(question);
  const auto handler = known.find({question.method, question.path});
  if (handler == known.end()) return refusal(404, "there is nothing of that name here");
  if (read_only_ && changes(question)) return refusal(403, "this page was started with --read-only");
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
      seen = {changed, record ? entry_of(name, *record, folder_) : ""};
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
               ",\"calibrations\":" + text_of(others) +
               ",\"bench\":" + text_of(bench_file_words(folder_.path())) + "}";
  return reply;
}

Reply BenchService::part(const Question& question) const {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kRecord);
  if (!path) return refusal(path.error());
  const auto bytes = read_file(*path, kLargestRecord);
  if (!bytes) return not_there(name);
  if (const auto record = parse_part_record(*bytes); !record) return refusal(record.error());
  Reply reply;
  reply.body = *bytes;
  reply.revision = sha256_hex(*bytes).substr(0, 16);
  return reply;
}

// The plan's sizes as every paper of the program prints them, rounded inwards, by name and unit.
Reply BenchService::limits(const Question& question) const {
  const std::string name = field(question.parameters, "part");
  const auto path = folder_.file(name, FileKind::kRecord);
  if (!path) return refusal(path.error());
  const auto bytes = read_file(*path, kLargestRecord);
  if (!bytes) return not_there(name);
  if (const auto record = parse_part_record(*bytes); !record) return refusal(record.error());
  const json sizes = json::parse(*bytes).value("/replacement/sizes"_json_pointer, json::array());
  json all = json::object();
  for (const json& size : sizes) {
    const auto given = [&](const char* key) {
      return size.contains(key) ? std::optional(size[key].get<double>()) : std::nullopt;
    };
    const PrintedLimits printed(given("lower_mm"), given("upper_mm"), given("target_mm"));
    for (const LengthUnit unit : {LengthUnit::kMm, LengthUnit::kInch})
      all[size.value("name", "")][unit == LengthUnit::kMm ? "mm" : "in"] = {
          {"target", printed.target(unit)}, {"lower", printed.lower(unit)}, {"upper", printed.upper(unit)}};
  }
  return good(all);
}

// Into the folder of this run; its number.
Result<std::string> BenchService::draw_page(const std::string& name, const Fields& fields) {
  std::string id;
  const fs::path page = next_drawing("page-", ".html", id);
  std::vector<std::string> arguments{"report", name, "-o", page.string()};
  pass_on(arguments, fields, {"unit"});
  const ChildAnswer child = run(fields, arguments);
  if (child.exit_code != 0) return Error{ErrorCode::kBadArgument, why(child)};
  return id;
}

Reply BenchService::draw_report(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string name = field(*fields, "part");
  if (const auto path = folder_.file(name, FileKind::kRecord); !path) return refusal(path.error());
  const auto id = draw_page(name, *fields);
  return id ? good({{"page", *id}}) : refusal(422, id.error().detail);
}

// One that was drawn up before is given once, so that a page looked at again is of the record as it then stands.
Reply BenchService::report(const Question& question) {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kRecord);
  if (!path) return refusal(path.error());
  const std::string before = field(question.parameters, "drawn");
  const auto page_file = [&](const std::string& id) { return drawn_->path() / ("page-" + id + ".html"); };
  std::string id = is_number(before) && fs::exists(page_file(before)) ? before : "";
  if (id.empty()) {
    const auto made = draw_page(name, question.parameters);
    if (!made) return refusal(422, made.error().detail);
    id = *made;
  }
  auto bytes = read_file(page_file(id));
  std::error_code code;
  fs::remove(page_file(id), code);
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
  if (!bytes) return not_there(name);
  Reply reply;
  reply.type = picture_type(name);
  reply.body = std::move(*bytes);
  return reply;
}

Reply BenchService::drawn(const Question& question, const std::string& stem, const std::string& ending,
                          const std::string& type) const {
  const std::string id = field(question.parameters, "id");
  if (!is_number(id)) return refusal(400, "needed the number of a drawing");
  auto bytes = read_file(drawn_->path() / (stem + id + ending));
  if (!bytes) return refusal(404, "that drawing is no longer there");
  Reply reply;
  reply.type = type;
  reply.body = std::move(*bytes);
  reply.page_of_its_own = true;
  return reply;
}

Reply BenchService::section(const Question& question) const {
  const bool dxf = field(question.parameters, "as") == "dxf";
  return drawn(question, "section-", dxf ? ".dxf" : ".svg", dxf ? "image/vnd.dxf" : "image/svg+xml");
}

fs::path BenchService::next_drawing(const std::string& stem, const std::string& ending, std::string& id) {
  id = std::to_string(next_drawing_++);
  return drawn_->path() / (stem + id + ending);
}

Reply BenchService::take_picture(const Question& question) {
  if (!question.content_type.starts_with("image/")) return refusal(415, "needed a picture");
  const auto name = folder_.free_name(field(question.parameters, "name"), FileKind::kPicture);
  if (!name) return refusal(name.error());
  if (const auto written = write_file_atomically(folder_.path() / *name, question.body); !written)
    return refusal(507, written.error().detail);
  return good({{"picture", *name}});
}

}  // namespace rondure::cli
