#include "rondure/photo/board_print_file.hpp"

#include <cmath>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

namespace rondure {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kFormat = "rondure-calibration";
constexpr const char* kKind = "board-print";
constexpr std::uintmax_t kMostBytes = 1u << 20;

Error damaged(const std::string& what) { return {ErrorCode::kFileDamaged, what}; }

std::optional<double> number(const Json& j, const char* key, double lo, double hi) {
  const auto it = j.find(key);
  if (it == j.end() || !it->is_number()) return {};
  const double value = it->get<double>();
  if (!(value >= lo && value <= hi)) return {};
  return value;
}

std::string text_of(const Json& j, const char* key) {
  const auto it = j.find(key);
  return it != j.end() && it->is_string() ? it->get<std::string>() : std::string();
}

}  // namespace

std::string to_json(const BoardPrint& print) {
  Json j = {{"format", kFormat}, {"version", 1}, {"kind", kKind}};
  for (const CalibrationSource& s : print.made_from)
    j["made_from"].push_back({{"file", s.file}, {"sha256", s.sha256}});
  j["when"] = print.when;
  j["board"] = {{"columns", print.board.columns},
                {"rows", print.board.rows},
                {"square_mm", print.board.square_mm},
                {"u_square_ratio", print.u_square_ratio}};
  return j.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<BoardPrint> parse_board_print(const std::string& json_text) {
  const Json j = Json::parse(json_text, nullptr, false);
  if (j.is_discarded()) return damaged("the JSON breaks off or is wrong");
  if (!j.is_object() || text_of(j, "format") != kFormat)
    return damaged(std::string("found no '") + kFormat + "'");
  if (const auto version = number(j, "version", 0, 1e6); version != 1.0) return damaged("found no version 1");
  if (text_of(j, "kind") != kKind)
    return Error{ErrorCode::kBadCalibration, "found a calibration of kind '" + text_of(j, "kind").substr(0, 40) +
                                                 "', needed board-print (rondure calibrate board-print)"};
  const auto board = j.find("board");
  if (board == j.end() || !board->is_object()) return damaged("found no 'board'");
  const auto columns = number(*board, "columns", 3, 1000), rows = number(*board, "rows", 3, 1000),
             square = number(*board, "square_mm", 1e-6, 1e6), u = number(*board, "u_square_ratio", 0, 0.2);
  if (!columns || !rows || !square || !u)
    return damaged("'board' needs columns, rows, square_mm and u_square_ratio within their ranges");
  BoardPrint print;
  print.board = {static_cast<int>(*columns), static_cast<int>(*rows), *square};
  print.u_square_ratio = *u;
  print.when = text_of(j, "when");
  if (const auto made = j.find("made_from"); made != j.end() && made->is_array())
    for (const Json& m : *made)
      if (m.is_object()) print.made_from.push_back({text_of(m, "file"), text_of(m, "sha256")});
  return print;
}

Result<BoardPrint> load_board_print(const std::filesystem::path& file) {
  std::error_code ignored;
  if (!std::filesystem::exists(file, ignored)) return Error{ErrorCode::kFileMissing, file.string()};
  if (std::filesystem::is_directory(file, ignored))
    return Error{ErrorCode::kFileUnreadable, file.string() + " is a folder"};
  if (std::filesystem::file_size(file, ignored) > kMostBytes && !ignored)
    return damaged(file.string() + " is larger than any board's file");
  std::ifstream in(file, std::ios::binary);
  if (!in.is_open()) return Error{ErrorCode::kFileUnreadable, file.string()};
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  auto print = parse_board_print(text);
  if (!print) return Error{print.error().code, file.string() + ": " + print.error().detail};
  return print;
}

}  // namespace rondure
