// The check sheet of a plan, filled in on the page: laid by 'plan', judged by 'compare'.
#include "cli/bench/answers.hpp"
#include "cli/bench/check_sheet.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace rondure::cli {

// A new check sheet takes the place of an older one and the figures of its rows; an older one with a figure for which
// there is no row any more stays beside it.
Result<void> BenchService::lay_sheet(const std::string& part, std::string sheet) {
  const fs::path file = sheet_of(part);
  if (const auto free = folder_.file(file.filename().string(), FileKind::kReadings); !free)
    return free.error();
  if (const auto old = read_file(file, std::size_t(1) << 20)) {
    bool all_placed = true;
    for (const auto& row : parsed(rows_json(*old))) {
      if (row.value("measured", "").empty()) continue;
      const auto filled = with_figure(sheet, row.value("name", ""), row["measured"], row.value("u", ""),
                                      row.value("unit", ""));
      all_placed = all_placed && filled;
      if (filled) sheet = *filled;
    }
    if (!all_placed) {
      const auto kept =
          folder_.free_name(fs::path(part).stem().string() + "-check-old.csv", FileKind::kReadings);
      if (!kept) return kept.error();
      if (const auto written = write_file_atomically(folder_.path() / *kept, *old); !written) return written;
    }
  }
  return write_file_atomically(file, sheet);
}

// "roller.json" -> "roller-check.csv"
fs::path BenchService::sheet_of(const std::string& part) const {
  return folder_.path() / (fs::path(part).stem().string() + "-check.csv");
}

// Figures and verdicts: those of 'compare', which takes the filled-in sheet.
Reply BenchService::state_of_sheet(const std::string& part) {
  const fs::path file = sheet_of(part);
  const auto text = read_file(file, std::size_t(1) << 20);
  if (!text) return good({{"rows", json::array()}});  // no plan, no sheet yet
  json state{{"file", file.filename().string()}, {"rows", parsed(rows_json(*text))}, {"text", *text}};
  if (has_figures(*text)) {
    const auto child = run_self(folder_.path(), {"compare", part, file.filename().string(), "--json", "-"});
    if (child.exit_code == 0)
      state["compared"] = parsed(child.out);
    else
      state["why"] = why(child);
  }
  Reply reply = good(state);
  reply.revision = sha256_hex(*text).substr(0, 16);
  return reply;
}

Reply BenchService::sheet(const Question& question) {
  const std::string part = field(question.parameters, "part");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  return state_of_sheet(part);
}

Reply BenchService::fill_sheet(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return not_understood();
  const std::string part = field(*fields, "part");
  if (const auto path = folder_.file(part, FileKind::kRecord); !path) return refusal(path.error());
  const fs::path file = sheet_of(part);
  if (const auto free = folder_.file(file.filename().string(), FileKind::kReadings); !free)
    return refusal(free.error());
  const std::scoped_lock lock(record_mutex_);
  const auto text = read_file(file, std::size_t(1) << 20);
  if (!text) return refusal(404, "there is no check sheet yet");
  const auto filled =
      with_figure(*text, field(*fields, "row"), field(*fields, "measured"), field(*fields, "u"));
  if (!filled) return refusal(422, filled.error().detail);
  if (const auto written = write_file_atomically(file, *filled); !written)
    return refusal(507, written.error().detail);
  return state_of_sheet(part);
}

}  // namespace rondure::cli
