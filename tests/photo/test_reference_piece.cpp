// References in the picture: how their sizes and uncertainties combine with the board's. All in closed form, no
// pictures.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "rondure/photo/board_print_file.hpp"
#include "rondure/photo/reference_piece.hpp"

using namespace rondure;

namespace {

ReferenceReading reference(double true_mm, double u_mm, double read_mm, double height_mm = 0) {
  ReferenceReading out;
  out.piece = {{true_mm, u_mm}, {100, 100}, std::nullopt};
  out.reading.diameter_mm = read_mm;
  out.reading.height_mm = height_mm;
  return out;
}

CircleReading part(double read_mm, double height_mm = 0) {
  CircleReading out;
  out.diameter_mm = read_mm;
  out.height_mm = height_mm;
  return out;
}

}  // namespace

TEST_CASE("reference: an exact piece gives the scale, whatever the board says", "[photo][reference]") {
  const double print = 0.0021;  // the board is so much too large: everything reads small
  const auto scale = ReferenceScale::from({reference(6, 1e-9, 6 / (1 + print))}, 0.01);
  REQUIRE(scale);
  CHECK(scale->print_ratio().value == Approx(print).epsilon(1e-6));
  CHECK_FALSE(scale->contradicts_board());
  const ReferencedDiameter d = scale->apply_to(part(12.4 / (1 + print)));
  CHECK(12.4 / (1 + print) + d.shift_mm == Approx(12.4).margin(1e-6));
  CHECK(d.u_mm() < 1e-5);
}

TEST_CASE("reference: board and pieces weigh as their uncertainties let them", "[photo][reference]") {
  // One piece read u_r = 0.0005 relative too small beside a board known to 0.001: weights 4 to 1.
  const auto one = ReferenceScale::from({reference(10, 0.005, 9.99)}, 0.001);
  REQUIRE(one);
  const ReferencedDiameter d = one->apply_to(part(20));
  const double ratio = 0.01 / 9.99, u_piece = 0.005 / 9.99;
  CHECK(d.shift_mm == Approx(20 * ratio * 1e-6 / (1e-6 + u_piece * u_piece)).epsilon(1e-9));
  CHECK(d.u_mm() == Approx(20 / std::sqrt(1e6 + 1 / (u_piece * u_piece))).epsilon(1e-9));
  // Two equal pieces: u falls by sqrt 2 where the board says nothing.
  const auto single = ReferenceScale::from({reference(10, 0.005, 10)}, 1),
             two = ReferenceScale::from({reference(10, 0.005, 10), reference(10, 0.005, 10)}, 1);
  REQUIRE((single && two));
  CHECK(single->apply_to(part(10)).u_mm() / two->apply_to(part(10)).u_mm() ==
        Approx(std::sqrt(2.0)).epsilon(1e-4));
}

TEST_CASE("reference: what it shares with the part cancels, what it does not stays", "[photo][reference]") {
  const double per_mm = 0.0005;  // a height wrong by one standard deviation: half a thousandth of every size
  const auto same_height = ReferenceScale::from({reference(6, 1e-9, 6, 6 * per_mm)}, 1);
  REQUIRE(same_height);
  CHECK(same_height->apply_to(part(12, 12 * per_mm)).u_mm() < 1e-5);
  auto own = reference(6, 1e-9, 6);
  own.reading.u_own_height_mm = 6 * per_mm;
  const auto own_height = ReferenceScale::from({own}, 1);
  REQUIRE(own_height);
  CHECK(own_height->apply_to(part(12, 12 * per_mm)).u_mm() ==
        Approx(12 * per_mm * std::sqrt(2.0)).epsilon(1e-3));
  // Edges: a dark pin of the part's size takes the tone curve's error with it, a bright one doubles it.
  const auto with_edge = [](double sign) {
    auto r = reference(12, 1e-9, 12);
    r.reading.tone_mm = {sign * 0.004, 0, 0};
    return ReferenceScale::from({r}, 1);
  };
  CircleReading dark = part(12);
  dark.tone_mm = {0.004, 0, 0};
  CHECK(with_edge(1)->apply_to(dark).u_mm() < 1e-5);
  CHECK(with_edge(-1)->apply_to(dark).u_mm() == Approx(0.008).epsilon(1e-3));
}

TEST_CASE("reference: intervals hold when everything is drawn from the model", "[photo][reference]") {
  std::mt19937_64 random(17);
  std::normal_distribution<double> normal;
  constexpr int kSets = 2000;
  int held = 0;
  for (int n = 0; n < kSets; ++n) {
    const double q = 0.001 * normal(random), tone = normal(random), pose = normal(random);
    const auto make = [&](double true_mm, double tone_mm, double pose_mm, double alone_mm) {
      CircleReading r = part(0);
      r.tone_mm = {tone_mm, 0, 0}, r.pose_mm = {pose_mm}, r.u_alone_mm = alone_mm;
      r.diameter_mm = (true_mm - tone_mm * tone - pose_mm * pose - alone_mm * normal(random)) / (1 + q);
      return r;
    };
    std::vector<ReferenceReading> pieces;
    for (const double size : {6.0, 10.0}) {
      ReferenceReading r;
      r.piece = {{size, 0.002}, {0, 0}, std::nullopt};
      r.reading = make(size + 0.002 * normal(random), size > 8 ? 0.003 : -0.002, 0.002, 0.001);
      pieces.push_back(r);
    }
    const CircleReading p = make(12.4, 0.003, 0.004, 0.0005);
    const auto scale = ReferenceScale::from(pieces, 0.001);
    REQUIRE(scale);
    const ReferencedDiameter d = scale->apply_to(p);
    held += std::abs(p.diameter_mm + d.shift_mm - 12.4) < 1.96 * std::hypot(d.u_mm(), 0.0005);
  }
  CHECK(held > 0.935 * kSets);
  CHECK(held < 0.965 * kSets);
}

TEST_CASE("reference: contradictions are said, or refused among the pieces themselves",
          "[photo][reference]") {
  const auto board =
      ReferenceScale::from({reference(6, 0.001, 5.9)}, 0.001);  // 1.7 % off a board known to 0.1 %
  REQUIRE(board);
  CHECK(board->contradicts_board());
  CHECK_THAT(board->finding(true),
             Catch::Contains("1.695 +- 0.017 % too large: more than it was trusted to"));
  CHECK(5.9 + board->apply_to(part(5.9)).shift_mm == Approx(6).margin(1e-4));  // the piece alone decides
  const auto agrees = ReferenceScale::from({reference(6, 0.001, 6.006)}, 0.001);
  CHECK_FALSE(agrees->contradicts_board());
  CHECK_THAT(agrees->finding(true), Catch::Contains("% too small"));
  const auto unsure = ReferenceScale::from({reference(6, 0.01, 6.006)}, 0.001);  // 0.10 +- 0.17 %: no finding
  CHECK_THAT(unsure->finding(true),
             Catch::Contains("the board's print is true to size, as far as that tells: to 0.3"));
  const auto nothing = ReferenceScale::from({reference(6, 0.12, 6.113)}, 0.001);  // 1.9 +- 2 %
  CHECK_THAT(nothing->finding(true),
             Catch::Contains("to tell more than 4 %, the size is by the board alone"));
  const auto pieces = ReferenceScale::from({reference(6, 0.001, 6), reference(10, 0.001, 10.1)}, 0.001);
  REQUIRE_FALSE(pieces);
  CHECK(pieces.error().code == ErrorCode::kBadCalibration);
  CHECK(ReferenceScale::from({}, 0.001).error().code == ErrorCode::kTooFewPoints);
}

TEST_CASE("reference: read from words", "[photo][reference]") {
  const auto piece = parse_reference_piece("6.000mm+-0.002mm@1210,840", LengthUnit::kMm);
  REQUIRE(piece);
  CHECK(piece->diameter_mm.value == 6);
  CHECK(piece->diameter_mm.u == Approx(0.002));
  CHECK(piece->at.x_px == 1210);
  CHECK(piece->at.y_px == 840);
  CHECK_FALSE(piece->height_mm);
  const auto high = parse_reference_piece("0.25in@10.5,20,12mm+-0.1mm", LengthUnit::kMm);
  REQUIRE(high);
  CHECK(high->diameter_mm.value == Approx(6.35));
  CHECK(high->diameter_mm.u == Approx(0.254 / 2 / std::sqrt(3.0)));  // the rounding of its last digit
  CHECK(high->height_mm->value == 12);
  CHECK(high->height_mm->u == Approx(0.1));
  for (const char* text : {"", "@", "6mm", "6mm@", "6mm@1", "6mm@1,2,3,4", "@1,2", "-6mm@1,2", "0mm@1,2",
                           "6mm+-5mm@1,2", "6mm@x,y", "6mm@1,2,high", "6furlong@1,2"})
    CHECK(parse_reference_piece(text, LengthUnit::kMm).error().code == ErrorCode::kBadArgument);
}

TEST_CASE("a board's file keeps its squares, and a damaged one is refused", "[photo][reference]") {
  BoardPrint print{{9, 6, 5.0105}, 0.0002, {{"pin.jpg", "00ff"}}, "2026-01-01T00:00:00Z"};
  const std::string json = to_json(print);
  const auto back = parse_board_print(json);
  REQUIRE(back);
  CHECK(back->board.columns == 9);
  CHECK(back->board.rows == 6);
  CHECK(back->board.square_mm == 5.0105);
  CHECK(back->u_square_ratio == 0.0002);
  CHECK(back->made_from[0].file == "pin.jpg");
  for (std::size_t cut = 0; cut + 2 < json.size(); ++cut) CHECK_FALSE(parse_board_print(json.substr(0, cut)));
  std::string other = json;
  other.replace(other.find("board-print"), 11, "camera");
  CHECK(parse_board_print(other).error().code == ErrorCode::kBadCalibration);
  CHECK(load_board_print("no-such-file.json").error().code == ErrorCode::kFileMissing);
}
