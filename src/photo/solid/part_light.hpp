// The light of a part's top face and of the ground beside it: what its inner edges are told by.
#pragma once
#include <optional>
#include <vector>

#include "photo/solid/ring_roles.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure {

class PartLight {
public:
  PartLight(const Picture& picture, const MeasuringPlane& board, const std::vector<float>& light_table,
            const CameraPlace& camera, const PartSeen& part)
      : picture_(picture), board_(board), table_(light_table), camera_(camera), part_(part) {}

  // Of the top face: near the outside, clear of its broken edge. Nothing where under a seventh of it is in the picture,
  // or it is black.
  std::optional<double> of_face() const;
  // Of the ground; 0 where it is out of the picture.
  double beside() const;

private:
  std::optional<double> at(const Eigen::Vector2d& place) const;

  const Picture& picture_;
  const MeasuringPlane& board_;
  const std::vector<float>& table_;
  const CameraPlace& camera_;
  const PartSeen& part_;
};

}  // namespace rondure
