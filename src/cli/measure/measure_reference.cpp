#include "cli/measure/measure_reference.hpp"

namespace rondure::cli {

CLI::Option* add_reference_option(CLI::App& command, std::vector<std::string>& texts) {
  return command
      .add_option(
          "--reference", texts,
          "a round piece of known diameter in the picture, with its uncertainty, its place in px and, where "
          "its edge lies at another height than the part's, that height: 6.000mm+-0.002mm@1210,840,12mm; "
          "with "
          "its doubt (11.9mm+-0.05mm) that at which its straight wall ends, below its bevel; one for each")
      ->allow_extra_args(false)
      ->type_name("LENGTH@X,Y");
}

Result<std::vector<ReferencePiece>> reference_pieces(const std::vector<std::string>& texts, LengthUnit bare) {
  std::vector<ReferencePiece> pieces;
  for (const std::string& text : texts) {
    const auto piece = parse_reference_piece(text, bare);
    if (!piece) return piece.error();
    pieces.push_back(*piece);
  }
  return pieces;
}

}  // namespace rondure::cli
