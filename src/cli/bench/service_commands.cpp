// What the page asks the commands to do: measure, original, plan, compare.
#include <functional>
#include <sstream>

#include "cli/bench/answers.hpp"
#include "rondure/photo/scan.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
namespace {

// Options that a field gives once, and those that it may give on several lines; the option has '-' for '_'.
void pass_on(std::vector<std::string>& arguments, const std::map<std::string, std::string>& fields,
             std::initializer_list<const char*> once, std::initializer_list<const char*> often = {}) {
  const auto option_name = [](std::string name) {
    for (char& c : name)
      if (c == '_') c = '-';
    return name;
  };
  for (const char* name : once) option(arguments, option_name(name), field(fields, name));
  for (const char* name : often) options_of_lines(arguments, option_name(name), field(fields, name));
}

constexpr const char* kResolutionOfFile = "as the file says";

}  // namespace

Reply BenchService::progress(const Question& question) {
  const auto work = works_.find(field(question.parameters, "job"));
  if (!work) return good({{"over", true}});
  const Work::State state = work->state();
  return good({{"passed_s", state.passed_s}, {"done", state.done_ratio}, {"left_s", state.left_s}});
}

Reply BenchService::stop(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const auto work = works_.find(field(*fields, "job"));
  if (!work) return refusal(404, "there is no such work any more");
  work->stop();
  return good({{"stopped", true}});
}

ChildAnswer BenchService::run(const Fields& fields, const std::vector<std::string>& arguments) {
  const auto work = works_.begin(field(fields, "job"));
  ChildAnswer child = run_self(folder_.path(), arguments, {}, 120, work.get());
  if (work->stopped()) child.exit_code = -1, child.err = "stopped; nothing was changed\n";
  return child;
}

Reply BenchService::change(const Fields& fields, const std::string& part,
                           const std::vector<std::string>& arguments,
                           const std::function<Reply(const ChildAnswer&)>& answered) {
  const std::scoped_lock lock(record_mutex_);
  const std::string seen = field(fields, "seen");
  if (!seen.empty() && revision_of(folder_.path() / part) != seen)
    return refusal(
        409, part + " has been changed elsewhere meanwhile. Nothing was done: look at it and ask again.");
  const ChildAnswer child = run(fields, arguments);
  if (child.exit_code != 0) return refusal(422, why(child));
  Reply reply = answered(child);
  reply.revision = revision_of(folder_.path() / part);
  return reply;
}

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

Reply BenchService::measure(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string name = field(*fields, "picture"), part = field(*fields, "part"),
                    calibration = field(*fields, "calibration");
  if (const auto path = folder_.file(name, FileKind::kPicture); !path) return refusal(path.error());
  std::vector<std::string> pictures{name};
  std::istringstream others(field(*fields, "others"));
  for (std::string other; std::getline(others, other);) {
    if (const auto path = folder_.file(other, FileKind::kPicture); !path) return refusal(path.error());
    pictures.push_back(other);
  }
  const std::string scan = field(*fields, "scan");  // here too: a file's name would be taken for a picture
  if (!scan.empty() && scan != kResolutionOfFile)
    if (const auto resolution = parse_resolution(scan); !resolution) return refusal(resolution.error());
  const bool on_its_side = !field(*fields, "side").empty();
  const bool turned = pictures.size() > 1 && !on_its_side && field(*fields, "several") == "turned";
  const bool one_part = pictures.size() > 1 && !on_its_side && !turned;
  const std::string angles = field(*fields, "angles");  // the command would take a file's name for a picture
  if (angles.find_first_not_of("0123456789.,;- ") != std::string::npos)
    return refusal(400, "found '" + angles + "', needed an angle a picture, such as 0,72,144,216,288");
  std::vector<std::string> arguments{"measure"};
  if (one_part) arguments.push_back("--one-part");
  arguments.insert(arguments.end(), pictures.begin(), pictures.end());
  if (const std::string board = field(*fields, "board");
      board.ends_with(".json"))  // its file, of this folder
    if (const auto path = folder_.file(board, FileKind::kRecord); !path) return refusal(path.error());
  for (const auto& [option_name, file] : {std::pair{"calibration", calibration}, std::pair{"save", part}}) {
    if (file.empty()) continue;
    if (const auto path = folder_.file(file, FileKind::kRecord); !path) return refusal(path.error());
    option(arguments, option_name, file);
  }
  pass_on(arguments, *fields,
          {"board", "square", "board_uncertainty", "height", "scale", "near", "form", "temperature",
           "material", "feature", "kind", "channel", "unit"},
          {"call", "leave_out", "take_in", "reference"});
  if (!field(*fields, "linear").empty()) arguments.push_back("--linear");
  if (!scan.empty()) arguments.push_back(scan == kResolutionOfFile ? "--scan" : "--scan=" + scan);
  if (on_its_side) {
    arguments.push_back("--side");
    pass_on(arguments, *fields, {"profile", "axis", "distance"});
  }
  std::string id, outlines_id;
  const fs::path drawing = next_drawing("overlay-", ".png", id),
                 outlines = next_drawing("outlines-", ".json", outlines_id);
  if (turned) arguments.push_back(angles.empty() ? "--turned" : "--turned=" + angles);
  arguments.insert(arguments.end(), {"--json", "-"});
  // the page draws the edges itself: a picture with them drawn takes time, and is made where it is asked for
  const bool several = pictures.size() > 1;
  if (!turned && (several || !field(*fields, "drawn").empty()))
    arguments.insert(arguments.end(), {"--overlay", drawing.string()});
  if (!several) arguments.insert(arguments.end(), {"--outlines", outlines.string()});
  const auto answered = [&](const ChildAnswer& child) {
    json found{{"record", parsed(child.out)}};
    if (fs::exists(drawing)) found["overlay"] = id;
    if (several && !turned) found["overlays"] = overlays_of(pictures, drawing);
    if (const auto bytes = read_file(outlines)) found["outlines"] = parsed(*bytes);
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
    if (const auto bytes = read_file(outlines)) {
      json refused = parsed(reply.body);
      refused["outlines"] = parsed(*bytes);
      reply.body = text_of(refused);
    }
  std::error_code code;
  fs::remove(outlines, code);
  return reply;
}

Reply BenchService::add(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part"), name = field(*fields, "name");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  std::vector<std::string> arguments{"add"};
  pass_on(arguments, *fields, {"kind", "unit", "same", "material", "mark", "date", "note"}, {"at"});
  option(arguments, "part", field(*fields, "called"));  // the part's name; `part` is its file
  arguments.insert(arguments.end(), {"--", part, name});
  std::istringstream in(field(*fields, "sizes"));
  for (std::string size; in >> size;) arguments.push_back(size);
  return change(*fields, part, arguments, [](const ChildAnswer& child) {
    return good({{"text", child.out}});
  });
}

Reply BenchService::original(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  std::vector<std::string> arguments{"original", part, "--save", part};
  if (const std::string grids = field(*fields, "grids"); !grids.empty()) {
    if (const auto path = folder_.file(grids, FileKind::kReadings); !path) return refusal(path.error());
    option(arguments, "grids", grids);
  }
  pass_on(arguments, *fields,
          {"material", "ratio", "mating", "mating_turns", "surface_speed", "turns", "belt", "drive",
           "crack_gap", "shrinkage", "about", "shape", "metric_prior", "confidence", "unit"},
          {"on_metal", "evidence", "worn"});
  return change(*fields, part, arguments, [](const ChildAnswer& child) {
    return good({{"text", child.out}});
  });
}

Reply BenchService::plan(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  std::string id, sheet_id;
  const fs::path drawing = next_drawing("drawing-", ".svg", id),
                 blank = next_drawing("sheet-", ".csv", sheet_id);
  std::vector<std::string> arguments{"plan",          part,          "--save", "--drawing", drawing.string(),
                                     "--check-sheet", blank.string()};
  for (const char* listed : {"tools", "steps"}) {
    const std::string file = field(*fields, listed);
    if (file.empty()) continue;
    if (const auto path = folder_.file(file, FileKind::kReadings); !path) return refusal(path.error());
    option(arguments, listed, file);
  }
  pass_on(arguments, *fields,
          {"shaft",       "shaft_material", "material_new",   "material_old", "width",
           "surface",     "belt",           "speed",          "speed_error",  "speed_variation",
           "run_out_old", "frequency",      "belt_stiffness", "rest_inertia", "radius",
           "arc_width",   "form_tool",      "clearance",      "rake",         "unit"},
          {"choose", "fit", "interference"});
  return change(*fields, part, arguments, [&](const ChildAnswer& child) {
    json planned{{"text", child.out}};
    if (fs::exists(drawing)) planned["drawing"] = id;
    if (const auto sheet = read_file(blank))
      if (const auto laid = lay_sheet(part, *sheet); !laid) planned["sheet_why"] = laid.error().detail;
    return good(planned);
  });
}

// Another record of the folder beside this one: what 'compare' says of the two.
Reply BenchService::compare(const Question& question) {
  std::vector<std::string> arguments{"compare"};
  for (const char* which : {"part", "other"}) {
    const std::string name = field(question.parameters, which);
    if (const auto path = folder_.file(name, FileKind::kRecord); !path) return refusal(path.error());
    arguments.push_back(name);
  }
  pass_on(arguments, question.parameters, {"tolerance", "turn", "unit"});
  const ChildAnswer child = run_self(folder_.path(), arguments);
  return child.exit_code == 0 ? good({{"text", child.out}}) : refusal(422, why(child));
}

}  // namespace rondure::cli
