#include "cli/report/report_set.hpp"

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <set>

#include "cli/report/report_part.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/progress.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/record/set_json.hpp"
#include "rondure/report/set_page.hpp"

namespace rondure::cli {
namespace {

namespace fs = std::filesystem;

// A record named in the set: as it stands, else beside the set.
fs::path find_record(const std::string& file, const std::string& set_file) {
  if (fs::exists(file)) return file;
  return fs::path(set_file).parent_path() / fs::path(file).filename();
}

// "roller-1.html"; with a number where two parts would have the same.
std::string page_name(const std::string& part, std::set<std::string>& taken) {
  const std::string stem = fs::path(part).stem().string();
  std::string name = stem + ".html";
  for (int n = 2; !taken.insert(name).second; ++n) name = stem + "-" + std::to_string(n) + ".html";
  return name;
}

// In a link: what is not plain is written as %XX.
std::string link_to(const std::string& file) {
  std::string link;
  for (const char c : file) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalnum(byte) || c == '-' || c == '_' || c == '.') {
      link += c;
    } else {
      char text[4];
      std::snprintf(text, sizeof text, "%%%02X", byte);
      link += text;
    }
  }
  return link;
}

// What the set says of sizes that it leaves undecided is said on the pages of the parts that have them.
OriginalResult original_of(const SetResult& set, std::size_t part) {
  OriginalResult original = set.parts[part].original;
  if (std::ranges::any_of(original.features, &OriginalFeature::undecided))
    for (const Warning& w : set.warnings)
      if (w.code == WarningCode::kSizeUndecided) original.warnings.push_back(w);
  return original;
}

}  // namespace

int report_set(const std::string& set_file, const std::string& text, const std::string& output,
               const PageWishes& how) {
  const auto file = parse_set_json(text);
  if (!file) return report_error(file.error(), set_file);
  const fs::path page(output);
  std::set<std::string> taken = {page.filename().string()};
  SetPageOptions options;
  options.title =
      "Set of " + std::to_string(file->set.parts.size()) + " parts: " + fs::path(set_file).stem().string();
  options.made_at = page_time();
  options.unit = how.unit;
  SetLink back{link_to(page.filename().string()),
               "One of a set of " + std::to_string(file->set.parts.size()) + " parts"};
  Progress progress("drawing up the pages", double(file->files.size()), how.quiet);
  PageWishes wishes = how;
  wishes.progress = &progress;
  std::vector<std::pair<fs::path, std::string>> pages;
  for (std::size_t p = 0; p < file->files.size(); ++p) {
    options.part_pages.emplace_back();
    const fs::path record = find_record(file->files[p], set_file);
    if (!fs::exists(record)) {
      if (!how.quiet)
        std::cerr << error_lines("note: " + file->files[p] + " is no longer there: no page of that part");
      continue;
    }
    back.original = original_of(file->set, p);
    back.alone = best_words(file->set.parts[p].alone);
    auto html = part_page(record.string(), back, wishes);
    if (!html) return report_error(html.error(), record.string());
    const std::string name = page_name(file->files[p], taken);
    options.part_pages.back() = link_to(name);
    pages.emplace_back(page.parent_path() / name, std::move(*html));
  }
  pages.emplace_back(page, set_page(file->set, options));
  progress.wipe();
  for (const auto& [path, html] : pages)
    if (const auto written = write_file_atomically(path.string(), html); !written)
      return report_error(written.error(), path.string());
  return kDone;
}

}  // namespace rondure::cli
