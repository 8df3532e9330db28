// Photographs on the page: what 'measure' is asked, and what it found.
#include "cli/bench/answers.hpp"
#include "rondure/photo/scan.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
namespace {

constexpr const char* kResolutionOfFile = "as the file says";

}  // namespace

// Files that one question's measurement leaves beside its answer.
struct BenchService::Traces {
  fs::path record, table, outlines, overlay;
  std::string overlay_id;
};

// What was drawn over each of several photographs, by its name: the numbers under which they are asked for.
json BenchService::overlays_of(const std::vector<std::string>& pictures, const fs::path& drawing) {
  json all = json::object();
  for (const std::string& picture : pictures) {
    std::string id;
    const fs::path place = next_drawing("overlay-", ".png", id);
    std::error_code code;
    fs::rename(
        drawing.parent_path() / (drawing.stem().string() + "-" + fs::path(picture).stem().string() + ".png"),
        place, code);
    if (!code) all[picture] = id;
  }
  return all;
}

// The photographs and how they belong together. The command would take a file's name for the resolution, or for the
// angles, as one more picture: here they are read first.
std::optional<Reply> BenchService::pictures_asked(std::vector<std::string>& arguments, const Fields& fields,
                                                  std::vector<std::string>& pictures) const {
  pictures = lines_of(field(fields, "others"));
  pictures.insert(pictures.begin(), field(fields, "picture"));
  if (const auto all = folder_.files(pictures, FileKind::kPicture); !all) return refusal(all.error());
  const std::string scan = field(fields, "scan"), angles = field(fields, "angles"),
                    several = pictures.size() > 1 ? field(fields, "several") : "";
  if (!scan.empty() && scan != kResolutionOfFile)
    if (const auto resolution = parse_resolution(scan); !resolution) return refusal(resolution.error());
  if (angles.find_first_not_of("0123456789.,;- ") != std::string::npos)
    return refusal(400, "found '" + angles + "', needed an angle a picture, such as 0,72,144,216,288");
  const bool side = !field(fields, "side").empty();
  if (pictures.size() > 1 && !side && several != "turned" && several != "each")
    arguments.push_back("--one-part");
  arguments.insert(arguments.end(), pictures.begin(), pictures.end());
  if (side) {
    arguments.push_back("--side");
    pass_on(arguments, fields, {"profile", "axis", "distance"});
  }
  if (!scan.empty()) arguments.push_back(scan == kResolutionOfFile ? "--scan" : "--scan=" + scan);
  if (several == "turned" && !side) arguments.push_back(angles.empty() ? "--turned" : "--turned=" + angles);
  return std::nullopt;
}

// Files beside the answer: those that the way of taking allows. The page draws the edges itself: a picture with them
// drawn takes time, and is made where it is asked for.
BenchService::Traces BenchService::traces_asked(std::vector<std::string>& arguments, const Fields& fields,
                                                bool several) {
  Traces traces;
  std::string id;
  const std::string how = several ? field(fields, "several") : "each";
  const bool side = !field(fields, "side").empty(), turned = several && !side && how == "turned",
             drawn = !turned && (several || !field(fields, "drawn").empty());
  traces.record = next_drawing("found-", ".json", id);
  traces.overlay = next_drawing("overlay-", ".png", traces.overlay_id);
  option(arguments, "json", traces.record.string());
  arguments.push_back("--all");
  if (drawn) option(arguments, "overlay", traces.overlay.string());
  if (!side && how == "each")
    option(arguments, "csv", (traces.table = next_drawing("found-", ".csv", id)).string());
  if (!several)
    option(arguments, "outlines", (traces.outlines = next_drawing("outlines-", ".json", id)).string());
  return traces;
}

Reply BenchService::measure(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part");
  std::vector<std::string> arguments{"measure"}, pictures;
  if (const auto bad = pictures_asked(arguments, *fields, pictures)) return *bad;
  if (const std::string board = field(*fields, "board");
      board.ends_with(".json"))  // its file, of this folder
    if (const auto path = folder_.file(board, FileKind::kRecord); !path) return refusal(path.error());
  if (const auto bad = files_of(arguments, *fields, {"calibration"}, FileKind::kRecord)) return *bad;
  if (!part.empty()) {
    if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
    option(arguments, "save", part);
  }
  pass_on(arguments, *fields,
          {"board", "square", "board_uncertainty", "height", "scale", "near", "form", "temperature",
           "material", "feature", "kind", "channel", "unit"},
          {"call", "leave_out", "take_in", "reference"});
  for (const char* name : {"linear", "srgb"})
    if (!field(*fields, name).empty()) arguments.push_back(std::string("--") + name);
  const Traces traces = traces_asked(arguments, *fields, pictures.size() > 1);
  const auto answered = [&](const ChildAnswer& child) {
    const auto record = read_file(traces.record), table = read_file(traces.table);
    json found{{"record", record ? parsed(*record) : json()}, {"text", child.out}};
    if (table) found["csv"] = *table;
    if (fs::exists(traces.overlay)) found["overlay"] = traces.overlay_id;
    if (pictures.size() > 1) found["overlays"] = overlays_of(pictures, traces.overlay);
    if (const auto bytes = read_file(traces.outlines)) found["outlines"] = parsed(*bytes);
    if (!child.err.empty()) found["notes"] = child.err;
    return good(found);
  };
  Reply reply;
  if (!part.empty()) {
    reply = change(*fields, part, arguments, answered);
  } else {
    const ChildAnswer child = run(*fields, arguments);
    reply = child.exit_code == 0 ? answered(child) : refusal(422, why(child));
  }
  if (reply.status == 422)  // where a board was looked for
    if (const auto bytes = read_file(traces.outlines)) {
      json refused = parsed(reply.body);
      refused["outlines"] = parsed(*bytes);
      reply.body = text_of(refused);
    }
  std::error_code code;
  for (const fs::path& file : {traces.record, traces.table, traces.outlines}) fs::remove(file, code);
  return reply;
}

}  // namespace rondure::cli
