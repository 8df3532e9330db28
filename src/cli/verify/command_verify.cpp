#include <fmt/format.h>

#include <cmath>
#include <iostream>
#include <memory>
#include <nlohmann/json.hpp>

#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/verify/reference_fits.hpp"
#include "rondure/core/builtin_data.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct VerifyOptions {
  std::string sets, json;
  bool quiet = false;
};

// The published value agrees with the certified one as far as it is printed.
bool published_agrees(const ReferenceValue& v) {
  const auto number = parse_number(v.published);
  if (!number) return true;
  const auto point = v.published.find('.');
  const auto exponent = v.published.find_first_of("eE");
  const std::size_t decimals =
      point == std::string::npos ? 0 : std::min(exponent, v.published.size()) - point - 1;
  return std::abs(*number - v.certified) <= std::pow(10.0, -static_cast<double>(decimals)) * 1.000001;
}

std::string quantity_words(const std::string& quantity) {
  static const std::pair<const char*, const char*> kWords[] = {
      {"circle.r", "circle radius"},       {"circle.cx", "circle centre x"},
      {"circle.cy", "circle centre y"},    {"ellipse.a", "ellipse semi-major"},
      {"ellipse.b", "ellipse semi-minor"}, {"ellipse.cx", "ellipse centre x"},
      {"ellipse.cy", "ellipse centre y"},  {"circumscribed.r", "circumscribed rad."},
      {"zone.width", "minimum zone"}};
  for (const auto& [key, words] : kWords)
    if (quantity == key) return words;
  return quantity;
}

std::string row(const CheckedValue& c, const Ink& ink) {
  const ReferenceValue& v = c.reference;
  const std::string published = v.published.empty() ? "-" : v.published + (published_agrees(v) ? "" : " *");
  const std::string ours = c.ours ? fmt::format("{:.15g}", *c.ours) : "refused: " + c.refusal;
  return fmt::format("  {:<18} {:>20} {:>22.15g} {:>22} {:>6}{}\n", quantity_words(v.quantity), published,
                     v.certified, ours, c.digits, c.passed ? "" : "   " + ink(Says::kBad, "FALLS SHORT"));
}

nlohmann::json as_json(const ReferenceSet& set, const std::vector<CheckedValue>& checked) {
  nlohmann::json rows = nlohmann::json::array();
  for (const CheckedValue& c : checked) {
    nlohmann::json r = {{"quantity", c.reference.quantity},
                        {"certified", c.reference.certified},
                        {"allowed_difference", c.reference.allowed},
                        {"matching_digits", c.digits},
                        {"passed", c.passed}};
    if (const auto published = parse_number(c.reference.published)) r["published"] = *published;
    if (c.ours) r["ours"] = *c.ours;
    if (!c.ours) r["refused"] = c.refusal;
    rows.push_back(std::move(r));
  }
  return {{"set", set.name}, {"source", set.source}, {"points", set.points.size()}, {"values", rows}};
}

int run(const VerifyOptions& options) {
  std::string text(builtin_data("published_fits.txt"));
  if (!options.sets.empty()) {
    auto file = read_file(options.sets);
    if (!file) return report_error(file.error(), options.sets);
    text = *std::move(file);
  }
  const auto sets = parse_reference_sets(text);
  if (!sets) return report_error(sets.error(), options.sets);

  const Ink ink = terminal_ink();
  std::string page =
      "Published point sets: what the source prints, the answer recomputed in 50-digit arithmetic "
      "(certified), and ours.\n"
      "digits: leading digits in which ours agrees with the certified value (a double holds 15).\n"
      "*: the printed value differs from the certified one by more than one unit of its last digit.\n";
  nlohmann::json document = nlohmann::json::array();
  int values = 0, short_of = 0, digits = 15;
  for (const ReferenceSet& set : *sets) {
    const auto checked = check(set);
    page += fmt::format("\n{} ({} points)\n  {}\n", set.name, set.points.size(), set.source);
    page +=
        fmt::format("  {:<18} {:>20} {:>22} {:>22} {:>6}\n", "", "published", "certified", "ours", "digits");
    for (const CheckedValue& c : checked) {
      page += row(c, ink);
      ++values, short_of += !c.passed;
      digits = std::min(digits, c.digits);
    }
    document.push_back(as_json(set, checked));
  }
  page += fmt::format("\n{} sets, {} values; fewest matching digits {}; {}.\n", sets->size(), values, digits,
                      short_of == 0 ? ink(Says::kGood, "none falls short")
                                    : fmt::format("{} {}", short_of, ink(Says::kBad, "FALL SHORT")));
  if (!options.quiet && options.json != "-") std::cout << page;
  if (options.json == "-") std::cout << document.dump(1) << '\n';
  if (!options.json.empty() && options.json != "-")
    if (const auto ok = write_file_atomically(options.json, document.dump(1) + "\n"); !ok)
      return report_error(ok.error(), options.json);
  if (short_of > 0) {
    std::cerr << fmt::format("rondure: verify: {} of {} values fall short of the certified ones\n", short_of,
                             values);
    return kCouldNotMeasure;
  }
  return finish_output();
}

}  // namespace

void add_verify(CLI::App& program, Action& action) {
  auto options = std::make_shared<VerifyOptions>();
  CLI::App* command =
      program.add_subcommand("verify", "Fits published point sets and shows how far the answers agree.");
  command
      ->add_option("--sets", options->sets,
                   "sets of your own with certified answers, instead of the built-in ones")
      ->type_name("FILE");
  command->add_option("--json", options->json, "write the comparison as JSON; - = standard output")
      ->type_name("FILE");
  command->add_flag("--quiet", options->quiet, "no text on standard output");
  command->footer("Example: rondure verify > verification.txt");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
