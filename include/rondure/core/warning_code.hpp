// Which warning it is. Decisions hang on it (whether a caution is due, whether a sentence has been said); the words are
// those of the part record. The sentence that goes with it decides nothing.
//
// A record of a newer version may hold a code that this version does not know: it reads as WarningCode(), and the record
// keeps the word it was written with.
#pragma once
#include <algorithm>
#include <cstdint>
#include <iterator>
#include <string_view>

namespace rondure {

class WarningCode {
public:
  constexpr WarningCode() = default;
  // A word in the program's own text: one that is not in the table does not compile.
  consteval WarningCode(const char* word) : index_(index_of(word)) {
    if (index_ == kNone) throw "no warning has this code: add it to the table";
  }
  // A word in a file.
  static constexpr WarningCode from_record(std::string_view word) {
    WarningCode code;
    code.index_ = index_of(word);
    return code;
  }

  constexpr std::string_view word() const { return index_ == kNone ? std::string_view() : kWord[index_]; }
  constexpr bool operator==(const WarningCode&) const = default;

  static const WarningCode kEccentricity;   // how far a bore or step lies off its outside
  static const WarningCode kClippedLight;   // light beside the edge at full scale
  static const WarningCode kFlanksDiffer;   // a side view's two flanks do not agree
  static const WarningCode kSizeUndecided;  // of a plan: the original that is made is not decided

  // Whether a person has to take care; a finding that only stands among the warnings is none.
  constexpr bool is_caution() const { return *this != kEccentricity; }

private:
  static constexpr std::uint8_t kNone = 255;
  static constexpr std::string_view kWord[] = {  // in the order of the alphabet
      "abrasive",
      "alike-features",
      "arc-too-wide",
      "arc-width-unknown",
      "axis-tilted",
      "axis-two-ways",
      "board-not-flat",
      "board-squares-counted",
      "board-uneven",
      "bore-from-shaft",
      "burst",
      "cellulose",
      "chips",
      "chlorine",
      "chosen-by-hand",
      "clipped-light",
      "coarse-outline",
      "crack-gap-ignored",
      "cracks",
      "creeps",
      "crown",
      "crown-unknown",
      "cut-undecided",
      "distance-unknown",
      "eccentricity",
      "edge-alone",
      "evidence-contradicts",
      "feature-left-out",
      "fit-chance",
      "flanks-differ",
      "focal-from-note",
      "form-not-included",
      "form-tool",
      "formaldehyde",
      "hardening",
      "heavier-rotor",
      "height-from-picture",
      "height-unknown",
      "height-unlikely",
      "inner-edge-not-answered",
      "instrument",
      "isocyanate",
      "kept-unknown-field",
      "kinds-differ",
      "lead",
      "left-out-of-mass",
      "lens-not-calibrated",
      "lobes-unseen",
      "local-rules",
      "material-unknown",
      "may-be-loose",
      "may-bind",
      "may-turn",
      "mean-scale-not-calibrated",
      "metal-changed",
      "names-differ",
      "no-arc",
      "no-class",
      "no-ellipse",
      "no-end-face",
      "no-uncertainty",
      "no-upper-limit",
      "not-flat",
      "odd-lobes-unseen",
      "old-speed-unknown",
      "on-the-board",
      "part-refused",
      "phenolic-dust",
      "plan-not-used",
      "plan-used",
      "press",
      "reading-not-weighed",
      "readings-contradict",
      "readings-differ",
      "readings-left-out",
      "reference",
      "reference-contradicts",
      "scale-dpi",
      "scanner-not-calibrated",
      "shaft-far",
      "shaft-material-unused",
      "shaft-unmeasured",
      "shrinkage-unusual",
      "size-as-measured",
      "size-undecided",
      "small-part",
      "stage-corrected",
      "stays-with-picture",
      "tolerance-not-used",
      "tool-left-out",
      "turned",
      "turning",
      "turns-with-part",
      "uncertainty-assumed",
      "unknown-plastic",
      "upper-rim",
      "view",
      "view-left-out",
      "views-alike",
      "views-differ-diameter",
      "views-leave-gaps",
      "views-run-out",
      "views-square-on",
      "warm-loose",
      "weak-outline",
      "wear-suspected",
      "whole-numbers",
      "width-unknown",
      "yields"};
  static_assert(std::is_sorted(std::begin(kWord), std::end(kWord)) && std::size(kWord) < kNone);

  static constexpr std::uint8_t index_of(std::string_view word) {
    const auto at = std::lower_bound(std::begin(kWord), std::end(kWord), word);
    return at != std::end(kWord) && *at == word ? static_cast<std::uint8_t>(at - std::begin(kWord)) : kNone;
  }

  std::uint8_t index_ = kNone;
};

inline constexpr WarningCode WarningCode::kEccentricity = "eccentricity";
inline constexpr WarningCode WarningCode::kClippedLight = "clipped-light";
inline constexpr WarningCode WarningCode::kFlanksDiffer = "flanks-differ";
inline constexpr WarningCode WarningCode::kSizeUndecided = "size-undecided";

}  // namespace rondure
