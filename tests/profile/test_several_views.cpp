// One part seen from the side several times, turned about its own axis: means, and what the part is not.
#include <catch2/catch.hpp>

#include "profile/drawn_side.hpp"
#include "rondure/profile/several_views.hpp"

using namespace rondure;
using namespace rondure::test;

namespace {

// Hub, drum and hub; the drum's radius and how far its middle lies off the hubs' axis, as this turn shows them.
SideProfile view(double drum_radius_mm, double off_mm, unsigned seed, double hub_mm = 3) {
  const Line m{{0, 0}, {0, hub_mm}, {2, hub_mm}, {2, drum_radius_mm}, {8, drum_radius_mm},
               {8, 3}, {12, 3},     {12, 0}};
  Line line = closed(m);
  for (auto& p : line)
    if (std::abs(p.y()) > 3.5) p.y() += off_mm;
  const auto points = outline_points(line, 2 / kScale_px_mm, 0.03 / kScale_px_mm, 1.5 / kScale_px_mm, seed);
  const auto folded = fold_outline(points, 2 / kScale_px_mm);
  REQUIRE(folded);
  ProfileCutOptions options;
  options.blur_mm = 0.8 / kScale_px_mm, options.floor_mm = 0.02 / kScale_px_mm;
  options.u_edge_offset_mm = 0.002;
  const auto p = cut_profile(*folded, options);
  REQUIRE(p);
  REQUIRE(p->segments.size() == 7);
  return *p;
}

bool says(const SideProfile& p, WarningCode code) {
  return std::any_of(p.warnings.begin(), p.warnings.end(), [&](const Warning& w) { return w.code == code; });
}

}  // namespace

TEST_CASE("several side views of a true part: means, what they share does not average out",
          "[profile][views]") {
  const std::vector<NamedView> views{{"a", view(5, 0, 1)}, {"b", view(5, 0, 2)}, {"c", view(5, 0, 3)}};
  const auto all = combine_views(views);
  REQUIRE(all);
  CHECK(all->used.size() == 3);
  const ProfileSegment& drum = all->profile.segments[3];
  double mean = 0;
  for (const auto& v : views) mean += v.profile.segments[3].diameter_mm->value / 3;
  CHECK(drum.diameter_mm->value == Approx(mean).epsilon(1e-12));
  CHECK(drum.diameter_mm->u >= views[0].profile.segments[3].diameter_mm->u * 0.999);
  CHECK(std::abs(drum.diameter_mm->value - 10) < 0.002);
  double sum = 0;
  for (const BudgetLine& line : drum.budget) sum += line.u_mm * line.u_mm;
  CHECK(std::sqrt(sum) == Approx(drum.diameter_mm->u).epsilon(1e-9));
  for (const WarningCode code :
       {WarningCode("views-differ-diameter"), WarningCode("views-run-out"), WarningCode("flanks-differ")})
    CHECK_FALSE(says(all->profile, code));
}

TEST_CASE("several side views: an oval drum is called out of round, an eccentric one run out, a tilt neither",
          "[profile][views]") {
  const auto oval = combine_views({{"a", view(5, 0, 1)}, {"b", view(5.01, 0, 2)}});
  REQUIRE(oval);
  CHECK(says(oval->profile, "views-differ-diameter"));
  CHECK_FALSE(says(oval->profile, "views-run-out"));
  CHECK(std::abs(oval->profile.segments[3].diameter_mm->value - 10.01) < 0.002);
  CHECK(oval->profile.segments[3].diameter_mm->u > 0.009);  // two diameters 0.02 mm apart
  const auto eccentric = combine_views({{"a", view(5, 0.01, 1)}, {"b", view(5, -0.01, 2)}});
  REQUIRE(eccentric);
  CHECK(says(eccentric->profile, "views-run-out"));
  CHECK_FALSE(says(eccentric->profile, "views-differ-diameter"));
  const auto tilted = combine_views({{"a", view(5, 0.01, 1)}, {"b", view(5, 0.01, 2)}});
  REQUIRE(tilted);
  CHECK(says(tilted->profile, "flanks-differ"));
  CHECK_FALSE(says(tilted->profile, "views-run-out"));
}

TEST_CASE("several side views: one that shows another part is left out, two strangers are refused",
          "[profile][views]") {
  SideProfile other = view(5, 0, 4);
  other.segments.pop_back();
  const auto two = combine_views({{"a", view(5, 0, 1)}, {"odd", other}, {"b", view(5, 0, 2)}});
  REQUIRE(two);
  CHECK(two->left_out == std::vector<std::string>{"odd"});
  CHECK(says(two->profile, "view-left-out"));
  const auto none = combine_views({{"a", view(5, 0, 1)}, {"odd", other}});
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::kNoAnswer);
  CHECK_FALSE(combine_views({}));
  const auto alone = combine_views({{"a", view(5, 0, 1)}});
  REQUIRE(alone);
  CHECK(alone->profile.segments[3].diameter_mm->u == view(5, 0, 1).segments[3].diameter_mm->u);
}
