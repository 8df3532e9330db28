#include "rondure/photo/part_views.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

#include "photo/edge/edge_circle.hpp"
#include "photo/solid/outside_search.hpp"
#include "photo/views/inner_rims.hpp"
#include "photo/views/part_search.hpp"
#include "photo/views/view_of_part.hpp"

namespace rondure {
namespace {

// A ring no higher than a sheet of paper, or than its height's doubt, is a line on the board and no part's
// (tests/cli/test_one_part.cpp: a circle printed round the part), unless its height is not told at all.
constexpr double kOnTheBoard_mm = 0.12, kOnTheBoardInU = 3;
constexpr double kHeightUnclear_mm = 0.5;
constexpr double kLarger_ratio = 1.04;  // an outline further out: as outside_search.cpp's, by judgement
constexpr std::size_t kMostSeeds = 12;  // three views' worth of part_search.cpp's: bounds the time

Result<SingleView> look_at(const PartView& view, const ViewsOptions& options) {
  SingleView single;
  single.view = &view;
  auto camera = camera_place(view.board);
  if (!camera) return Error{camera.error().code, view.name + ": " + camera.error().detail};
  single.camera = *camera;
  ToneCurve tone = view.board.tone;
  if (options.linear_light) tone.linear = true;
  single.light_table = tone.light_table(view.picture.bits);
  single.steps = camera_steps(view.board, options.lens_covariance);
  EdgeOptions edges;
  edges.linear_light = options.linear_light;
  if (auto found = find_round_edges(view.picture, view.board, edges)) single.edges = std::move(*found);
  SolidOptions solid;
  solid.linear_light = options.linear_light;
  const SolidScene scene = weigh_solid_parts(view.picture, view.board, single.edges, solid);
  for (const RoundEdge& e : scene.edges)
    if (e.wall && e.wall->top_mm > e.wall->foot_mm && e.wall->height_seen)
      single.walls.push_back(
          {e.wall->center.vec(), e.wall->radius_mm, 0, e.wall->top_mm, false, Eigen::Vector2d::Zero()});
  return single;
}

class PartViewing {
public:
  PartViewing(const std::vector<PartView>& views, const ViewsOptions& options)
      : views_(views), options_(options) {}

  Result<PartInViews> run() {
    if (const auto looked = look_at_all(); !looked) return looked.error();
    std::optional<PartStart> outside;
    std::vector<AdjustedWall> on_the_board;
    std::optional<AdjustedWall> best;
    int tried = 0;
    for (const PartSeed& seed : seeds_of(singles_, options_.near)) {
      if (tried >= static_cast<int>(kMostSeeds)) break;
      if (best && known(seed, *best)) continue;
      if (std::any_of(on_the_board.begin(), on_the_board.end(),
                      [&](const AdjustedWall& w) { return known(seed, w); }))
        continue;
      ++tried;
      const auto start = start_from(singles_, seed);
      if (!start) continue;
      AdjustedWall wall = adjust_outside(singles_, *start, options_.height_mm);
      if (!wall.joint.found || wall.used() < 2) continue;
      if (lies_on_the_board(wall)) {
        on_the_board.push_back(std::move(wall));
        continue;
      }
      // The largest comes first: a ring within it is no outside, however many views show it.
      if (!best || (wall.used() > best->used() && !(lies_within(wall, *best) && shown_by_half(*best))))
        best = std::move(wall);
      if (best->used() == static_cast<int>(views_.size())) break;
    }
    if (best) look_further_out(*best, on_the_board);
    if (!best && on_the_board.empty()) return nothing_shared();
    if (!best) {  // a flat thing
      best = std::move(on_the_board.front());
      on_the_board.erase(on_the_board.begin());
    }
    if (best->used() == 2)
      for (std::size_t v = 0; v < views_.size(); ++v)
        if (best->views[v].used && !best->why_not[v].empty()) return contradiction(*best, v);
    PartInViews out = told(*best);
    InnerRims inner = inner_rims(singles_, *best);
    for (JointRim& rim : inner.answered) out.edges.push_back(std::move(rim));
    out.warnings.insert(out.warnings.end(), inner.warnings.begin(), inner.warnings.end());
    for (const AdjustedWall& wall : on_the_board)
      out.others.push_back({EdgeRole::kMark,
                            {PartPoint::from(wall.joint.wall.center), wall.joint.wall.radius_mm},
                            edge_of(singles_, wall).outlines.front()});
    return out;
  }

private:
  Result<void> look_at_all() {
    std::vector<std::optional<Result<SingleView>>> looked(views_.size());
    cv::parallel_for_(cv::Range(0, static_cast<int>(views_.size())), [&](const cv::Range& range) {
      for (int v = range.start; v < range.end; ++v)
        looked[static_cast<std::size_t>(v)] = look_at(views_[static_cast<std::size_t>(v)], options_);
    });
    for (auto& one : looked) {
      if (!*one) return one->error();
      singles_.push_back(std::move(**one));
    }
    for (std::size_t v = 1; v < views_.size(); ++v) {
      const auto turns = board_turns(views_[0].picture, views_[0].board, views_[v].picture, views_[v].board);
      if (turns.empty())
        return Error{ErrorCode::kBoardMismatch,
                     fmt::format("{}: its board is not that of {}", views_[v].name, views_[0].name)};
      singles_[v].turn = turns.front();
    }
    return {};
  }

  // Already an answer: a ring or wall of about this place and size.
  bool known(const PartSeed& seed, const AdjustedWall& wall) const {
    const SingleView& view = singles_[seed.view];
    const RoundWall w = view.turn.wall_in_view(wall.joint.wall);
    const double top = w.top_mm, seen_top = seed.height_known ? seed.wall.top_mm : 0;
    const Eigen::Vector2d at = view.camera.seen_at(w.center, top),
                          seed_at = view.camera.seen_at(seed.wall.center, seen_top);
    const double r = view.camera.scale_at(top) * w.radius_mm,
                 seed_r = view.camera.scale_at(seen_top) * seed.wall.radius_mm;
    return (at - seed_at).norm() + std::abs(r - seed_r) < 0.06 * r;
  }

  static bool lies_on_the_board(const AdjustedWall& wall) {
    const double u = std::sqrt(std::max(0.0, wall.joint.covariance(kJointTop, kJointTop)));
    return std::abs(wall.joint.wall.top_mm) < std::max(kOnTheBoard_mm, kOnTheBoardInU * u) &&
           u < kHeightUnclear_mm;
  }

  bool shown_by_half(const AdjustedWall& wall) const {
    return 2 * wall.used() >= static_cast<int>(views_.size());
  }
  static bool lies_within(const AdjustedWall& inner, const AdjustedWall& outer) {
    const RoundWall &a = inner.joint.wall, &b = outer.joint.wall;
    return a.radius_mm < b.radius_mm && (a.center - b.center).norm() < b.radius_mm;
  }

  // What no view alone took for round: a larger outline about the same middle that the edges of several bear out.
  void look_further_out(AdjustedWall& best, const std::vector<AdjustedWall>& on_the_board) const {
    for (std::size_t v = 0; v < singles_.size(); ++v) {
      if (!best.views[v].used) continue;
      const SingleView& s = singles_[v];
      WallFit fit;
      fit.wall = s.turn.wall_in_view(best.joint.wall);
      const SeenScene scene{s.view->picture, s.view->board, s.light_table, s.camera};
      const auto further = further_out(scene, fit);
      if (!further) continue;
      const PartSeed seed{
          v, {further->center, further->radius_mm, 0, 0, false, Eigen::Vector2d::Zero()}, false};
      if (std::any_of(on_the_board.begin(), on_the_board.end(),
                      [&](const AdjustedWall& w) { return known(seed, w); }))
        continue;
      const auto start = start_from(singles_, seed);
      if (!start) continue;
      AdjustedWall wall = adjust_outside(singles_, *start, options_.height_mm);
      if (!wall.joint.found || !shown_by_half(wall) || wall.used() < 2 || lies_on_the_board(wall)) continue;
      if (!lies_within(best, wall) || wall.joint.wall.radius_mm < kLarger_ratio * best.joint.wall.radius_mm)
        continue;
      best = std::move(wall);
      return;
    }
  }

  Error nothing_shared() const {
    std::string seen;
    for (const SingleView& single : singles_) {
      double largest = 0;
      for (const RoundEdge& e : single.edges) largest = std::max(largest, simple_circle(e).diameter_mm());
      for (const RoundWall& w : single.walls) largest = std::max(largest, 2 * w.radius_mm);
      seen += (seen.empty() ? "" : ", ") +
              (largest > 0 ? fmt::format("{} about {:.1f} mm", single.view->name, largest)
                           : fmt::format("{} none", single.view->name));
    }
    return {ErrorCode::kNoRoundEdge, "found no round part that two of the views share (" + seen +
                                         "); needed views of one part, it and the board left where they are"};
  }

  Error contradiction(const AdjustedWall& wall, std::size_t v) const {
    std::string other;
    for (std::size_t k = 0; k < views_.size(); ++k)
      if (k != v && wall.views[k].used) other = views_[k].name;
    return {ErrorCode::kNoAnswer,
            fmt::format("{} and {} contradict each other: in {} {}; needed part and board left "
                        "where they are, or a third view to tell which is right",
                        other, views_[v].name, views_[v].name, wall.why_not[v])};
  }

  PartInViews told(const AdjustedWall& wall) const {
    PartInViews out;
    out.edges.push_back(edge_of(singles_, wall));
    JointRim& outside = out.edges.front();
    outside.outside = true;
    for (std::size_t v = 0; v < views_.size(); ++v) {
      const OwnAnswer& own = wall.joint.own[v];
      ViewOfPart view{views_[v].name, wall.views[v].used, wall.why_not[v], {}, own.shift_mm, own.rms_px};
      if (wall.views[v].used && own.diameter_mm > 0)
        view.diameter_mm = Estimate{own.diameter_mm, own.u_diameter_mm};
      if (!view.used)
        out.warnings.push_back({"view-left-out", fmt::format("{} left out: {}", view.name, view.why_not)});
      out.views.push_back(std::move(view));
    }
    if (*outside.edge.u_height_mm > kHeightUnclear_mm)
      out.warnings.push_back(
          {"views-alike",
           fmt::format("the views are taken from nearly one place: the height is known to {:.1f} mm only; "
                       "take one from 15 to 25 degrees aside",
                       *outside.edge.u_height_mm)});
    return out;
  }

  const std::vector<PartView>& views_;
  const ViewsOptions& options_;
  std::vector<SingleView> singles_;
};

}  // namespace

Result<PartInViews> find_part_in_views(const std::vector<PartView>& views, const ViewsOptions& options) {
  if (views.size() < 2)
    return Error{ErrorCode::kBadArgument, "found one view, needed two or more of one part"};
  return PartViewing(views, options).run();
}

}  // namespace rondure
