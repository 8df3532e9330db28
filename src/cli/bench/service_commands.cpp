// What the page asks the commands to do with one part: add, original, plan, compare; and how any work is watched.
#include <functional>
#include <sstream>

#include "cli/bench/answers.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
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

// Options that name files of the folder; a refusal where one is none.
std::optional<Reply> BenchService::files_of(std::vector<std::string>& arguments, const Fields& fields,
                                            std::initializer_list<const char*> names, FileKind kind) const {
  for (const char* name : names) {
    const std::string file = field(fields, name);
    if (file.empty()) continue;
    if (const auto path = folder_.file(file, kind); !path) return refusal(path.error());
    option(arguments, name, file);
  }
  return std::nullopt;
}

// A table that a command is to write: never over a file that is there.
std::optional<Reply> BenchService::new_table(std::vector<std::string>& arguments, const Fields& fields,
                                             const char* name) const {
  const std::string file = field(fields, name);
  if (file.empty()) return std::nullopt;
  const auto path = folder_.file(file, FileKind::kReadings);
  if (!path) return refusal(path.error());
  if (fs::exists(*path)) return refusal(409, file + " is there already, needed a new name");
  option(arguments, name, file);
  return std::nullopt;
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

// Of a record, or of a table of sizes, for which a record is made.
Reply BenchService::original(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part"), sizes = field(*fields, "sizes");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  std::vector<std::string> arguments{"original"};
  if (sizes.empty()) arguments.push_back(part);
  option(arguments, "save", part);
  if (const auto bad = files_of(arguments, *fields, {"sizes", "grids"}, FileKind::kReadings)) return *bad;
  if (const auto bad = new_table(arguments, *fields, "learn")) return *bad;
  pass_on(
      arguments, *fields,
      {"material", "ratio", "mating", "mating_turns", "surface_speed", "turns", "belt", "drive", "crack_gap",
       "shrinkage", "about", "shape", "metric_prior", "confidence", "unit", "mark", "date", "note"},
      {"on_metal", "evidence", "worn", "could_measure"});
  option(arguments, "part", field(*fields, "called"));
  arguments.push_back("--all");
  return change(*fields, part, arguments, [](const ChildAnswer& child) {
    return good({{"text", child.out}});
  });
}

Reply BenchService::plan(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  const std::string bare = field(*fields, "outline");  // the bare section for another program
  if (!bare.empty() && bare != "dxf" && bare != "svg")
    return refusal(400, "the bare section is written as dxf or svg");
  std::string id, sheet_id, section_id;
  const fs::path drawing = next_drawing("drawing-", ".svg", id),
                 blank = next_drawing("sheet-", ".csv", sheet_id),
                 section = next_drawing("section-", "." + bare, section_id);
  std::vector<std::string> arguments{
      "plan", part, "--save", "--all", "--drawing", drawing.string(), "--check-sheet", blank.string()};
  if (!bare.empty()) option(arguments, "outline", section.string());
  if (const auto bad = files_of(arguments, *fields, {"tools", "steps"}, FileKind::kReadings)) return *bad;
  if (const auto bad = files_of(arguments, *fields, {"copy"}, FileKind::kRecord)) return *bad;
  pass_on(arguments, *fields,
          {"shaft",       "shaft_material",  "material_new", "material_old", "width",
           "surface",     "crown",           "belt",         "speed",        "speed_error",
           "run_out_old", "speed_variation", "frequency",    "rest_inertia", "belt_stiffness",
           "radius",      "arc_width",       "form_tool",    "clearance",    "rake",
           "unit"},
          {"choose", "fit", "interference", "width_of"});
  return change(*fields, part, arguments, [&](const ChildAnswer& child) {
    json planned{{"text", child.out}};
    if (fs::exists(drawing)) planned["drawing"] = id;
    if (fs::exists(section)) planned["section"] = section_id;
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
  pass_on(arguments, question.parameters, {"tolerance", "turn", "against", "same_drawing", "unit"});
  arguments.push_back("--all");
  const ChildAnswer child = run(question.parameters, arguments);
  return child.exit_code == 0 ? good({{"text", child.out}}) : refusal(422, why(child));
}

}  // namespace rondure::cli
