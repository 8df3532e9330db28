// --reference: round pieces of known diameter in the picture that is measured.
#pragma once
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/photo/reference_piece.hpp"

namespace rondure::cli {

CLI::Option* add_reference_option(CLI::App& command, std::vector<std::string>& texts);
Result<std::vector<ReferencePiece>> reference_pieces(const std::vector<std::string>& texts, LengthUnit bare);

}  // namespace rondure::cli
