#include "rondure/photo/board_print_file.hpp"

#include "photo/plane/calibration_envelope.hpp"

namespace rondure {

std::string to_json(const BoardPrint& print) {
  Json j = calibration_envelope("board-print", print.made_from, print.when);
  j["board"] = {{"columns", print.board.columns},
                {"rows", print.board.rows},
                {"square_mm", print.board.square_mm},
                {"u_square_ratio", print.u_square_ratio}};
  return calibration_text(j);
}

Result<BoardPrint> parse_board_print(const std::string& json_text) {
  const auto j = open_calibration(json_text, "board-print", "calibrate board-print");
  if (!j) return j.error();
  const Json board = j->value("board", Json::object());
  const auto columns = number_in(board, "columns", 3, 1000), rows = number_in(board, "rows", 3, 1000),
             square = number_in(board, "square_mm", 1e-6, 1e6),
             u = number_in(board, "u_square_ratio", 0, 0.2);
  if (!columns || !rows || !square || !u)
    return Error{ErrorCode::kFileDamaged,
                 "'board' needs columns, rows, square_mm and u_square_ratio within their ranges"};
  BoardPrint print;
  print.board = {static_cast<int>(*columns), static_cast<int>(*rows), *square};
  print.u_square_ratio = *u;
  print.when = text_in(*j, "when");
  print.made_from = sources_of(*j);
  return print;
}

Result<BoardPrint> load_board_print(const std::filesystem::path& file) {
  const auto text = calibration_bytes(file);
  if (!text) return text.error();
  auto print = parse_board_print(*text);
  if (!print) return Error{print.error().code, file.string() + ": " + print.error().detail};
  return print;
}

}  // namespace rondure
