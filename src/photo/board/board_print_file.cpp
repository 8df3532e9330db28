#include "rondure/photo/board_print_file.hpp"

#include "json/calibration_frame.hpp"
#include "json/field_list.hpp"

namespace rondure {
namespace {

constexpr std::uintmax_t kMostBytes = 1u << 20;  // no such file comes near; bounds the memory

struct Board {
  BoardPrint& print;
};

struct PrintFields : json::FrameFields {
  using FrameFields::list;
  template <class Io>
  static void list(Io& io, Board& v) {
    BoardSize& board = v.print.board;
    io.needed("columns", board.columns, 3, 1000);
    io.needed("rows", board.rows, 3, 1000);
    io.needed("square_mm", board.square_mm, 1e-6, 1e6);
    io.needed("u_square_ratio", v.print.u_square_ratio, 0, 0.2);
  }
  template <class Io>
  static void list(Io& io, BoardPrint& v) {
    Board board{v};
    io("made_from", v.made_from);
    io.always("when", v.when);
    io.needed("board", board);
  }
};

}  // namespace

std::string to_json(const BoardPrint& print) {
  return json::calibration_text("board-print", json::Writer<PrintFields>::object(print));
}

Result<BoardPrint> parse_board_print(const std::string& json_text) {
  return json::read_calibration(
      json_text, {"board-print"}, "board-print (rondure calibrate board-print)",
      [](const json::Object& object) { return json::Reader<PrintFields>::read<BoardPrint>(object); });
}

Result<BoardPrint> load_board_print(const std::filesystem::path& file) {
  return json::load_calibration_file(file, kMostBytes, parse_board_print);
}

}  // namespace rondure
