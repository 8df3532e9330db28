// A profile's pieces with their breaks, and what is not known of where each lies: what their kinds and sizes are told from.
#pragma once
#include <optional>
#include <vector>

#include "pieces.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure {

inline constexpr double kFaceWithin_rad = 0.03;  // of square to the axis: draft of a moulded face

double slope_rad(const ProfileCurve& c);                          // of the line to the axis, in (-pi/2, pi/2]
double run_rad(const ProfileCurve& c, const Eigen::Vector2d& p);  // direction of the curve at a place on it
double turn_between(double a, double b);                          // of two lines, 0 to pi/2
double u_across(const ProfileCurve& c, const Eigen::Vector2d& p);  // of the curve's place across itself at p
double u_center(const ProfileCurve& c, const Eigen::Vector2d& along);  // of an arc's centre along a direction

struct Break {
  Eigen::Vector2d at;
  double u_z_mm = 0, u_r_mm = 0;
  double gap_mm = 0;  // between the pieces' sure points, where they do not meet: the break is half way
};

struct CutProfile {
  // `shared`: how many neighbours are taken to share an error; more points tell it themselves.
  CutProfile(const Meridian& whole, const std::vector<ProfilePointRZ>& of_points, const Cut& cut,
             double shared, const ProfileCutOptions& how);

  const Meridian& meridian;
  const std::vector<ProfilePointRZ>& points;
  const ProfileCutOptions& options;
  std::vector<Piece> pieces;
  std::vector<Break> breaks;  // one more than pieces: the ends too
  double radius_mm = 0, length_mm = 0;

  // Of piece k.
  double u_slope_rad(std::size_t k) const;  // of its fit
  double u_straight_rad(std::size_t k) const;
  double u_place_mm(std::size_t k) const;                        // of the middle, across
  double carried_mm(std::size_t k) const;                        // between its sure points
  double chord_mm(std::size_t k) const;                          // between its breaks
  std::optional<Estimate> half_difference(std::size_t k) const;  // upper flank less the mean of both

  void at_corner(std::size_t one, std::size_t other, Break& at) const;
  // Where an outline bends so much its points err together, more than along what is straight.
  double fillet_floor_mm() const;

private:
  void trim(Piece& p) const;
  void take_scatter(double shared);
  void find_breaks();
  double u_of_flanks_mm(std::size_t k) const;
  double waves_rad(std::size_t k) const;
  double wave_mm() const;
  double wave_in_mean_mm(std::size_t k) const;
  double wave_in_turn_mm(std::size_t k) const;
};

}  // namespace rondure
