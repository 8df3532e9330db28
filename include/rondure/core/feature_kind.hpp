// What kind of surface a feature is, or what a line of a check sheet asks for. Decisions hang on it; the words are
// those of the record and of SIZES.csv. A feature's name, by contrast, is the user's label and decides nothing.
//
// A record of a newer version may name a kind that this version does not know: it reads as kOther, and the record
// keeps the word it was written with.
#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace rondure {

class FeatureKind {
public:
  enum Value {
    kUnstated,
    kOutside,
    kBore,
    kBoreOnMetal,  // a bore still on its metal shaft, which held its size
    kWidth,        // along the axis
    kArc,          // given and drawn by its radius, kept as a diameter
    kMetal,        // a metal part it runs or sits on
    kShaft,        // check sheets only, as the next two
    kRoundness,
    kRunOut,
    kOther
  };

  constexpr FeatureKind(Value value = kUnstated) : value_(value) {}
  // A word in the program's own text: one that no kind has does not compile.
  consteval FeatureKind(const char* word) : value_(value_of(word)) {
    if (value_ == kOther) throw "no kind of feature has this word";
  }
  // A word in a file: unknown ones are kOther, none is kUnstated.
  static constexpr FeatureKind from_record(std::string_view word) { return value_of(word); }
  // A word of the user: one of the kinds that a measured feature can have. Nothing for any other.
  static std::optional<FeatureKind> parse(std::string_view word) {
    const FeatureKind kind = value_of(word);
    return kind.is_measured() ? std::optional(kind) : std::nullopt;
  }
  static constexpr const char* kWords = "outside, bore, bore-on-metal, width, arc or metal";

  constexpr Value value() const { return value_; }
  constexpr std::string_view word() const { return kWord[value_]; }  // empty: unstated or other
  constexpr bool operator==(const FeatureKind&) const = default;

  constexpr bool is_stated() const { return value_ != kUnstated; }
  constexpr bool is_measured() const { return value_ >= kOutside && value_ <= kMetal; }
  constexpr bool is_bore() const { return value_ == kBore || value_ == kBoreOnMetal; }
  // A surface that ran or turned: it can be out of round and worn.
  constexpr bool is_running_surface() const { return value_ == kOutside || value_ == kBore; }
  // Metal, and what a metal shaft holds, does not shrink.
  constexpr bool shrinks_with_the_plastic() const { return value_ != kMetal && value_ != kBoreOnMetal; }
  // Sizes are kept as diameters; an arc is drawn and spoken of by half of it.
  constexpr double drawn_share() const { return value_ == kArc ? 0.5 : 1; }

private:
  static constexpr std::string_view kWord[] = {
      "", "outside", "bore", "bore-on-metal", "width", "arc", "metal", "shaft", "roundness", "run-out", ""};
  static constexpr Value value_of(std::string_view word) {
    if (word.empty()) return kUnstated;
    for (int k = kOutside; k < kOther; ++k)
      if (kWord[k] == word) return static_cast<Value>(k);
    return kOther;
  }

  Value value_;
};

}  // namespace rondure
