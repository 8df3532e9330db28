// The small change of the service's answers: refusals, fields of a question, options of a command.
#pragma once
#include <initializer_list>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "cli/bench/child.hpp"
#include "cli/bench/service.hpp"

namespace rondure::cli {

using Fields = std::map<std::string, std::string>;

std::string text_of(const nlohmann::json& object);
// Discarded (json::is_discarded) where it is none.
nlohmann::json parsed(const std::string& text);
Reply good(const nlohmann::json& object);
Reply refusal(int status, const std::string& why);
Reply refusal(const Error& error);
Reply not_understood();

// The fields of a question: an object of short texts, and nothing else.
std::optional<Fields> fields_of(const Question& question);
std::string field(const Fields& fields, const std::string& name);

// "--name=value" where there is a value: it cannot be taken for another option.
void option(std::vector<std::string>& arguments, const std::string& name, const std::string& value);
// The same for each line of a text.
void options_of_lines(std::vector<std::string>& arguments, const std::string& name, const std::string& lines);
// Options of a command that fields of their name give, once or on several lines; the option has '-' for '_'.
void pass_on(std::vector<std::string>& arguments, const Fields& fields,
             std::initializer_list<const char*> once, std::initializer_list<const char*> often = {});
std::vector<std::string> lines_of(const std::string& text);  // those that are not empty

// The sentence of a command that failed.
std::string why(const ChildAnswer& child);

// A short mark of a file's bytes, to see whether somebody changed it; empty for one that is not there.
std::string revision_of(const std::filesystem::path& file);

}  // namespace rondure::cli
