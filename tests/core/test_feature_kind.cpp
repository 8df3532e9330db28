// Kinds of feature: their words, and what is decided by them.
#include <catch2/catch.hpp>
#include <set>

#include "rondure/core/feature_kind.hpp"

using namespace rondure;

TEST_CASE("kinds of feature: a word each, found again by it", "[core][kind]") {
  std::set<std::string_view> words;
  for (int k = FeatureKind::kOutside; k < FeatureKind::kOther; ++k) {
    const FeatureKind kind = static_cast<FeatureKind::Value>(k);
    INFO(kind.word());
    CHECK(words.insert(kind.word()).second);
    CHECK(FeatureKind::from_record(kind.word()) == kind);
    CHECK(FeatureKind::parse(kind.word()).has_value() == kind.is_measured());
    if (kind.is_measured()) CHECK(std::string(FeatureKind::kWords).find(kind.word()) != std::string::npos);
  }
  CHECK(FeatureKind::from_record("") == FeatureKind::kUnstated);
  for (const char* word : {"hub", "Outside", "bore ", "outside 2", "run-out of the rim"}) {
    CHECK(FeatureKind::from_record(word) == FeatureKind::kOther);
    CHECK_FALSE(FeatureKind::parse(word));
  }
}

TEST_CASE("kinds of feature: what hangs on them", "[core][kind]") {
  using K = FeatureKind;
  for (const K kind : {K::kOutside, K::kBore, K::kWidth, K::kArc, K::kUnstated, K::kOther})
    CHECK(kind.shrinks_with_the_plastic());
  for (const K kind : {K::kMetal, K::kBoreOnMetal}) CHECK_FALSE(kind.shrinks_with_the_plastic());
  for (const K kind : {K::kOutside, K::kBore}) CHECK(kind.is_running_surface());
  for (const K kind : {K::kBoreOnMetal, K::kWidth, K::kArc, K::kMetal})
    CHECK_FALSE(kind.is_running_surface());
  CHECK((K(K::kBore).is_bore() && K(K::kBoreOnMetal).is_bore() && !K(K::kOutside).is_bore()));
  CHECK(K(K::kArc).drawn_share() == 0.5);
  CHECK(K(K::kOutside).drawn_share() == 1);
}
