#include "cli/bench/answers.hpp"

#include <sstream>

#include "rondure/record/part_record.hpp"

using json = nlohmann::json;

namespace rondure::cli {
namespace {

// Of one field of a question: words and options; "text" is a whole table.
constexpr std::size_t kLargestText = 4096, kLargestTable = std::size_t(1) << 18;

}  // namespace

std::string text_of(const json& object) {
  return object.dump(-1, ' ', false, json::error_handler_t::replace);
}

json parsed(const std::string& text) { return json::parse(text, nullptr, false); }

Reply good(const json& object) {
  Reply reply;
  reply.body = text_of(object);
  return reply;
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

Reply not_understood() { return refusal(400, "found no object of short texts, needed one"); }

std::optional<Fields> fields_of(const Question& question) {
  if (question.content_type != "application/json") return std::nullopt;
  const json object = json::parse(question.body, nullptr, false);
  if (!object.is_object()) return std::nullopt;
  Fields fields;
  for (const auto& [key, value] : object.items()) {
    if (!value.is_string()) return std::nullopt;
    const auto text = value.get<std::string>();
    if (text.size() > (key == "text" ? kLargestTable : kLargestText) || text.find('\0') != std::string::npos)
      return std::nullopt;
    fields[key] = text;
  }
  return fields;
}

std::string field(const Fields& fields, const std::string& name) {
  const auto at = fields.find(name);
  return at == fields.end() ? std::string() : at->second;
}

void option(std::vector<std::string>& arguments, const std::string& name, const std::string& value) {
  if (!value.empty()) arguments.push_back("--" + name + "=" + value);
}

void options_of_lines(std::vector<std::string>& arguments, const std::string& name,
                      const std::string& lines) {
  for (const std::string& line : lines_of(lines)) option(arguments, name, line);
}

void pass_on(std::vector<std::string>& arguments, const Fields& fields,
             std::initializer_list<const char*> once, std::initializer_list<const char*> often) {
  const auto option_name = [](std::string name) {
    for (char& c : name)
      if (c == '_') c = '-';
    return name;
  };
  for (const char* name : once) option(arguments, option_name(name), field(fields, name));
  for (const char* name : often) options_of_lines(arguments, option_name(name), field(fields, name));
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    if (!line.empty()) lines.push_back(line);
  return lines;
}

std::string why(const ChildAnswer& child) {
  constexpr std::string_view kSays = "rondure: ";
  if (child.err.empty())
    return child.exit_code < 0 ? "it took too long and was stopped" : "it failed without a word";
  const std::string line = child.err.substr(0, child.err.find('\n'));
  return line.starts_with(kSays) ? line.substr(kSays.size()) : line;
}

std::string revision_of(const std::filesystem::path& file) {
  const auto bytes = read_file(file);
  return bytes ? sha256_hex(*bytes).substr(0, 16) : "";
}

}  // namespace rondure::cli
