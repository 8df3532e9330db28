// Several parts of the folder together, and the tables that commands read: sizes, tools, steps, grids.
#include "cli/bench/answers.hpp"
#include "cli/bench/named_in_text.hpp"
#include "rondure/core/csv_table.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {
// Two records or more of the folder, as arguments.
std::optional<Reply> BenchService::parts_of(std::vector<std::string>& arguments, const Fields& fields) const {
  const auto parts = folder_.files(lines_of(field(fields, "parts")), FileKind::kRecord);
  if (!parts) return refusal(parts.error());
  if (parts->size() < 2) return refusal(400, "needed two parts or more");
  arguments.insert(arguments.end(), parts->begin(), parts->end());
  return std::nullopt;
}

// What the parts were drawn as together, and their page, in a folder of this run.
Reply BenchService::set(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  std::vector<std::string> arguments{"original"};
  if (const auto bad = parts_of(arguments, *fields)) return *bad;
  if (const auto bad = files_of(arguments, *fields, {"grids"}, FileKind::kReadings)) return *bad;
  if (const auto bad = new_table(arguments, *fields, "learn")) return *bad;
  pass_on(arguments, *fields,
          {"material", "belt", "shrinkage", "about", "shape", "metric_prior", "confidence", "unit"},
          {"same_drawing", "tie", "on_metal", "evidence", "worn"});
  if (!field(*fields, "own_batches").empty()) arguments.push_back("--own-batches");
  std::string id;
  const fs::path place = next_drawing("set-", "", id), answer = place / "set.json";
  std::error_code code;
  fs::create_directory(place, code);
  option(arguments, "json", answer.string());
  arguments.push_back("--all");
  const ChildAnswer child = run(*fields, arguments);
  const auto found = read_file(answer);
  if (child.exit_code != 0 || !found) return refusal(422, why(child));
  std::vector<std::string> page{"report", answer.string(), "-o", (place / "set.html").string()};
  pass_on(page, *fields, {"unit"});
  json reply{{"set", parsed(*found)}, {"text", child.out}};
  if (run(*fields, page).exit_code == 0) reply["page"] = id;
  return good(reply);
}

// Which of several equal parts has worn most.
Reply BenchService::wear(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  std::vector<std::string> arguments{"compare"};
  if (const auto bad = parts_of(arguments, *fields)) return *bad;
  pass_on(arguments, *fields, {"same_drawing", "unit"});
  std::string id;
  const fs::path answer = next_drawing("wear-", ".json", id);
  option(arguments, "json", answer.string());
  arguments.push_back("--all");
  const ChildAnswer child = run(*fields, arguments);
  const auto found = read_file(answer);
  std::error_code code;
  fs::remove(answer, code);
  if (child.exit_code != 0 || !found) return refusal(422, why(child));
  return good({{"wear", parsed(*found)}, {"text", child.out}});
}

// "/api/pages/7/idler-1.html": a page of a set of this run. They link to each other by these names.
Reply BenchService::page_of_set(const Question& question) const {
  const auto asked = page_asked(question.path);
  if (!asked) return refusal(400, "needed the number of a set");
  const auto place = BenchFolder::open(drawn_->path() / ("set-" + asked->id));
  const auto path = place ? place->file(asked->name, FileKind::kPage) : Result<fs::path>(place.error());
  auto bytes = path ? read_file(*path) : Result<std::string>(path.error());
  if (!bytes) return refusal(404, "that page is no longer there");
  Reply reply;
  reply.type = "text/html; charset=utf-8";
  reply.body = std::move(*bytes);
  reply.page_of_its_own = true;
  return reply;
}

Reply BenchService::table(const Question& question) const {
  const std::string name = field(question.parameters, "file");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  const auto bytes = read_file(*path, std::size_t(1) << 20);
  Reply reply = good({{"file", name}, {"text", bytes ? *bytes : ""}});
  reply.revision = bytes ? sha256_hex(*bytes).substr(0, 16) : "";
  return reply;
}

// A table as it was typed. One that somebody else has changed since it was seen, and a file that is no such table, stay.
Reply BenchService::write_table(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string name = field(*fields, "file"), text = field(*fields, "text");
  const auto path = folder_.file(name, FileKind::kReadings);
  if (!path) return refusal(path.error());
  const auto kind = table_kind(text);
  if (kind.empty()) return refusal(400, "found '" + table_head(text) + "', needed the head of a known table");
  const std::scoped_lock lock(record_mutex_);
  const auto there = read_file(*path, std::size_t(1) << 20);
  if (there && table_kind(*there) != kind)
    return refusal(409, name + " holds something else, needed another name");
  if (there && sha256_hex(*there).substr(0, 16) != field(*fields, "seen"))
    return refusal(
        409, name + " has been changed elsewhere meanwhile. Nothing was done: look at it and ask again.");
  if (!there && there.error().code != ErrorCode::kFileMissing) return refusal(409, name + " cannot be read");
  if (const auto written = write_file_atomically(*path, text); !written)
    return refusal(507, written.error().detail);
  Reply reply = good({{"file", name}, {"text", text}});
  reply.revision = sha256_hex(text).substr(0, 16);
  return reply;
}

// The materials that old parts are of, and those that a replacement is planned in; and what 'original --materials' says.
Reply BenchService::materials() {
  json known{{"aged", json::array()}, {"made", json::array()}};
  const CsvTable &aged = CsvTable::builtin("ageing_materials.csv"),
                 &made = CsvTable::builtin("plan_materials.csv");
  for (std::size_t i = 0; i < aged.rows(); ++i) known["aged"].push_back(std::string(aged.text(i, "abbrev")));
  for (std::size_t i = 0; i < made.rows(); ++i)
    known["made"].push_back(std::string(made.text(i, "material")));
  const auto child = run_self(folder_.path(), {"original", "--materials"});
  known["text"] = child.out;
  return good(known);
}

}  // namespace rondure::cli
