// One wall or rim in several views at once: centre, radius, height and oval, with every view's camera free within what
// is not known of it.
//
// Unknowns: the wall's seven (its foot may be broken: within a prior), the radius f of its rounded rim (0 +- 0.25 mm: a
// quarter of turned and moulded parts have one of 0.1 to 0.8 mm; common practice, no source), and one number for each step of doubt (view_doubts.hpp: pose of each view, the lens of all;
// and how far light places the edges outwards, of all views and of each), of which each has the prior N(0, 1). Rows:
// the signed distance of each edge from the wall's seen outline over its noise, kNeighbours of 360 rays as one.
// A rim rounded by f is seen at its limb. Where the line of sight leans outwards by t off the vertical (t > 0: away from
// the camera), the limb lies at height top + f sin t and radius R - f (1 - cos t), top being where the straight wall ends:
// the outline moves outwards by f (1/cos t - 1) against the straight wall's. A chamfer's outer corner has no such term.
// Gauss-Newton; least squares of a dense system of 20 to 150 unknowns. Lengths mm; the frame is the first view's.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

#include "photo/solid/wall_fit.hpp"
#include "photo/views/board_turn.hpp"
#include "photo/views/view_doubts.hpp"

namespace rondure {

// A view as the joint fit needs it. Rays and camera in the view's own frame.
struct ViewOfWall {
  CameraPlace camera;
  BoardTurn turn;
  RayEdges rays;
  std::vector<CameraStep> steps;
  bool used = true;
};

enum JointUnknown {
  kJointX,
  kJointY,
  kJointR,
  kJointTop,
  kJointCos,
  kJointSin,
  kJointFoot,
  kJointFillet,
  kJointUnknowns
};
using JointVector = Eigen::Matrix<double, kJointUnknowns, 1>;
using JointMatrix = Eigen::Matrix<double, kJointUnknowns, kJointUnknowns>;

struct JointShape {
  bool disc = false;  // a rim: foot and top are one height
  bool oval = true;
  std::optional<Estimate> top_mm;                      // a prior; 0 +- 0: held
  double u_offset_px = 0.045, u_own_offset_px = 0.03;  // of edges outwards: alike in all views, and in each
};

// What one view alone says, with the height of all.
struct OwnAnswer {
  Eigen::Vector2d shift_mm = Eigen::Vector2d::Zero();  // of its middle from the joint one's
  double diameter_mm = 0, u_diameter_mm = 0;
  double differs = 0;  // chi^2 of shift and diameter, 3 degrees of freedom
  double rms_px = 0, cover = 0;
};

struct JointWall {
  RoundWall wall;
  double fillet_mm = 0;
  JointShape shape;
  std::vector<std::vector<ChosenEdge>> chosen;  // one list a view
  // With everything in doubt; with the cameras and edges right but the height free; with the height right too.
  JointMatrix covariance = JointMatrix::Zero(), cameras_right = JointMatrix::Zero(),
              height_right = JointMatrix::Zero();
  std::vector<std::vector<double>> left_mm;  // of each chosen edge, outwards, the cameras where they fit best
  std::vector<double> noise_px;
  std::vector<OwnAnswer> own;
  double rms_px = 0;
  bool found = false;
};

// Robust, from a rough start: edges are chosen anew in each round.
JointWall fit_joint_wall(const std::vector<ViewOfWall>& views, const RoundWall& start,
                         const JointShape& shape);
// Edges placed once more, one a ray: plain least squares with all doubts, and each view's own answer.
JointWall adjust_joint_wall(const std::vector<ViewOfWall>& placed, const JointWall& from);

}  // namespace rondure
