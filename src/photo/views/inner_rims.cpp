#include "photo/views/inner_rims.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "photo/solid/inner_edges.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// One ring in two views, by so much of its radius and so much more: seen from 200 to 300 mm, a ring taken for
// 1 mm higher than it lies reads 0.3 to 0.5 % off. By judgement.
constexpr double kSameRing_ratio = 0.05, kSameRing_mm = 0.15;
constexpr double kRimChamfer_mm = 0.15,
                 kURimChamfer_mm = 0.2;  // of the outside's rim: the face lies so much above its wall's end
constexpr double kFaceWithin_mm = 0.5, kInU = 3;  // of a bore's rim from the face that it opens in
constexpr double kHubStands_mm = 0.1;             // a hub's rim stands so much above the face; by judgement
constexpr double kUHeight_mm = 0.7;               // prior about what the views say of it alone
constexpr double kMostRms_px = 0.8, kMostUHeight_mm = 0.6, kMostOff_ratio = 0.04;  // else not one rim
constexpr std::size_t kPoints = 360;  // of an answer drawn as a circle: one a degree

// One ring as one view names it; middle in the first view's frame.
struct Seen {
  std::size_t view = 0;
  EdgeRole role = EdgeRole::kBore;
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  double radius_mm = 0, shift_mm = 0, height_mm = 0, u_more_mm = 0, u_diameter_mm = 0;
  bool hole = false;
  RoundWall wall;  // in its view's frame
  double dark_inside = 0;
};

struct Ring {
  std::vector<Seen> seen;  // at most one a view
  EdgeRole role() const { return seen.front().role; }
  double of(double Seen::*what) const {
    std::vector<double> all;
    for (const Seen& s : seen) all.push_back(s.*what);
    return median(all);
  }
  bool hole() const {
    return 2 * std::count_if(seen.begin(), seen.end(), [](const Seen& s) { return s.hole; }) >
           static_cast<std::ptrdiff_t>(seen.size());
  }
  // Standard deviation of the views' own diameters.
  double spread_mm() const {
    const double count = static_cast<double>(seen.size());
    double mean = 0, sum = 0;
    for (const Seen& s : seen) mean += 2 * (s.radius_mm + s.shift_mm) / count;
    for (const Seen& s : seen) sum += std::pow(2 * (s.radius_mm + s.shift_mm) - mean, 2);
    return std::sqrt(sum / std::max(1.0, count - 1));
  }
  Eigen::Vector2d center() const {
    std::vector<double> x, y;
    for (const Seen& s : seen) x.push_back(s.center.x()), y.push_back(s.center.y());
    return {median(x), median(y)};
  }
};

const char* word_for(EdgeRole role) {
  return role == EdgeRole::kBore ? "bore" : role == EdgeRole::kHubStep ? "hub step" : "groove's wall";
}

class InnerRimming {
public:
  InnerRimming(const std::vector<SingleView>& singles, const AdjustedWall& outside)
      : singles_(singles), outside_(outside) {
    const JointWall& joint = outside.joint;
    const double u = std::sqrt(std::max(0.0, joint.covariance(kJointTop, kJointTop)));
    // A disc held up is the face itself.
    face_ = joint.shape.disc ? Estimate{joint.wall.top_mm, u}
                             : Estimate{joint.wall.top_mm + kRimChamfer_mm, std::hypot(u, kURimChamfer_mm)};
  }

  InnerRims run() {
    for (std::size_t v = 0; v < singles_.size(); ++v)
      if (outside_.views[v].used) look_into(v);
    std::sort(rings_.begin(), rings_.end(),
              [](const Ring& a, const Ring& b) { return a.of(&Seen::radius_mm) > b.of(&Seen::radius_mm); });
    for (const Ring& ring : rings_) answer(ring);
    return std::move(out_);
  }

private:
  void look_into(std::size_t v) {
    const SingleView& s = singles_[v];
    const RoundWall here = s.turn.wall_in_view(outside_.joint.wall);
    const InnerEdges inner = find_inner_edges(s.view->picture, s.view->board, s.light_table, s.camera,
                                              {here.center, here.radius_mm, face_.value, face_.u});
    for (const InnerEdge& e : inner.named) {
      if (!is_of_the_part(e.role) || e.role == EdgeRole::kInnerEdge) continue;
      Seen seen;
      seen.view = v, seen.role = e.role;
      seen.wall = e.fit.wall;
      seen.center = s.turn.first_from_view(e.fit.wall.center);
      seen.radius_mm = e.fit.wall.radius_mm, seen.shift_mm = e.shift_mm, seen.height_mm = e.height_mm;
      seen.hole = e.fit.wall.hole;
      seen.u_diameter_mm = e.u_diameter_mm;
      const double by_height = 2 * seen.radius_mm / s.camera.height_mm * e.u_height_mm;
      seen.u_more_mm = std::sqrt(std::max(0.0, e.u_diameter_mm * e.u_diameter_mm - by_height * by_height));
      for (const ChosenEdge& c : e.fit.chosen)
        seen.dark_inside += (c.edge->dark_inside ? 1.0 : -1.0) / static_cast<double>(e.fit.chosen.size());
      file(seen);
    }
  }

  void file(const Seen& seen) {
    for (Ring& ring : rings_) {
      const double r = ring.of(&Seen::radius_mm);
      const bool same = ring.role() == seen.role && ring.seen.back().view != seen.view &&
                        std::abs(r - seen.radius_mm) < kSameRing_ratio * r + kSameRing_mm;
      if (same) return ring.seen.push_back(seen);
    }
    rings_.push_back({{seen}});
  }

  void answer(const Ring& ring) {
    std::optional<JointRim> rim;
    std::string why;
    if (ring.seen.size() < 2) {
      why = fmt::format("{} alone shows it", singles_[ring.seen.front().view].view->name);
    } else {
      if (ring.hole())
        rim = mean_of_views(ring);
      else
        rim = adjusted(ring, why);
      if (rim && !at_a_face(ring, *rim)) {
        why = fmt::format("its rim seems to lie {:.2f} mm above the board, where there is no face",
                          *rim->edge.height_mm);
        rim.reset();
      }
    }
    if (rim) {
      if (ring.role() == EdgeRole::kHubStep && !hub_)
        hub_ = Estimate{*rim->edge.height_mm, rim->edge.u_height_mm.value_or(0)};
      return out_.answered.push_back(std::move(*rim));
    }
    out_.warnings.push_back({"inner-edge-not-answered",
                             fmt::format("a {} of about {:.1f} mm is not answered: {}", word_for(ring.role()),
                                         2 * (ring.of(&Seen::radius_mm) + ring.of(&Seen::shift_mm)), why)});
  }

  bool at_a_face(const Ring& ring, const JointRim& rim) const {
    const double h = *rim.edge.height_mm, u = rim.edge.u_height_mm.value_or(0);
    if (ring.role() == EdgeRole::kHubStep) return h > face_.value - kRimChamfer_mm + kHubStands_mm;
    const auto near = [&](const Estimate& face) {
      return std::abs(h - face.value) < std::max(kFaceWithin_mm, kInU * std::hypot(u, face.u));
    };
    return near(face_) || (hub_ && near(*hub_));
  }

  // All views at once, as a disc at a height of its own.
  std::optional<JointRim> adjusted(const Ring& ring, std::string& why) const {
    PartStart start;
    start.disc = true;
    start.wall.center = ring.center(), start.wall.radius_mm = ring.of(&Seen::radius_mm);
    start.wall.foot_mm = start.wall.top_mm = ring.of(&Seen::height_mm);
    start.scores.assign(singles_.size(), 0);
    for (const Seen& s : ring.seen) start.scores[s.view] = 1;
    const AdjustedWall wall = adjust_rim(singles_, start, {start.wall.top_mm, kUHeight_mm});
    if (!wall.joint.found || wall.used() < 2) {
      why = "its edges in the views do not fit one rim";
      return {};
    }
    const double off = std::abs(wall.joint.wall.radius_mm - start.wall.radius_mm);
    if (wall.joint.rms_px > kMostRms_px || off > kMostOff_ratio * start.wall.radius_mm + kSameRing_mm) {
      why = fmt::format("its edges lie {:.1f} px off one rim (rms)", wall.joint.rms_px);
      return {};
    }
    JointRim rim = edge_of(singles_, wall);
    if (rim.edge.u_height_mm.value_or(0) > kMostUHeight_mm) {
      why = "the views do not tell its height";
      return {};
    }
    const double shift_mm = ring.of(&Seen::shift_mm);
    for (MeasuredPoint& p : rim.edge.points) {
      const Eigen::Vector2d from = p.at.vec() - wall.joint.wall.center;
      p.at = PartPoint::from(p.at.vec() + shift_mm * from.normalized());
    }
    rim.edge.ring = SeenRing{ring.role(), std::hypot(ring.of(&Seen::u_more_mm), ring.spread_mm()), {}};
    rim.edge.warnings.push_back(
        {"upper-rim",
         fmt::format("its upper rim, {:.2f} mm above the board: where that is chamfered the {} below is {}",
                     *rim.edge.height_mm, word_for(ring.role()),
                     ring.role() == EdgeRole::kHubStep ? "larger" : "smaller")});
    return rim;
  }

  // A hole seen through: what the views say, each by its own uncertainty; walls too thin to be resolved are alike in all.
  std::optional<JointRim> mean_of_views(const Ring& ring) const {
    double weights = 0, radius = 0, scatter = 0, least_u = 1e9, dark = 0;
    Eigen::Vector2d center = Eigen::Vector2d::Zero();
    for (const Seen& s : ring.seen) {
      const double w = 1 / std::pow(std::max(1e-3, s.u_diameter_mm), 2);
      weights += w, radius += w * (s.radius_mm + s.shift_mm), center += w * s.center;
      least_u = std::min(least_u, s.u_diameter_mm), dark += s.dark_inside;
    }
    radius /= weights, center /= weights;
    for (const Seen& s : ring.seen) scatter += std::pow(2 * (s.radius_mm + s.shift_mm - radius), 2);
    const double count = static_cast<double>(ring.seen.size());
    JointRim rim;
    for (std::size_t k = 0; k < kPoints; ++k) {
      const double a = 2 * kPi * static_cast<double>(k) / kPoints;
      rim.edge.points.push_back(
          {PartPoint::from(center + radius * Eigen::Vector2d(std::cos(a), std::sin(a))), 1e-3, 0});
      rim.edge.pixels.push_back({});
    }
    std::vector<double> scales;
    rim.outlines.resize(singles_.size());
    for (const Seen& s : ring.seen) {
      scales.push_back(outside_.views[s.view].rays.px_per_mm);
      rim.outlines[s.view] =
          pixels_of(SeenOutline(singles_[s.view].camera, s.wall), singles_[s.view].view->board);
    }
    rim.edge.px_per_mm = median(scales);
    rim.edge.dark_inside = dark > 0, rim.edge.hole = true, rim.edge.coverage_deg = 360;
    rim.edge.height_mm = ring.of(&Seen::height_mm), rim.edge.u_height_mm = face_.u;
    rim.edge.ring =
        SeenRing{ring.role(), std::hypot(least_u, std::sqrt(scatter / count / std::max(1.0, count - 1))), {}};
    rim.second_harmonic_mm2 = std::pow(0.5 * least_u, 2) * Eigen::Matrix2d::Identity();
    return rim;
  }

  const std::vector<SingleView>& singles_;
  const AdjustedWall& outside_;
  Estimate face_;
  std::optional<Estimate> hub_;
  std::vector<Ring> rings_;
  InnerRims out_;
};

}  // namespace

InnerRims inner_rims(const std::vector<SingleView>& singles, const AdjustedWall& outside) {
  return InnerRimming(singles, outside).run();
}

}  // namespace rondure
