// Light of a picture between its pixels.
#pragma once
#include <cmath>
#include <vector>

#include "rondure/photo/picture.hpp"

namespace rondure {

class LightAt {
public:
  LightAt(const Picture& picture, const std::vector<float>& table) : picture_(picture), table_(table) {}
  // Cubic convolution (Catmull-Rom) of the samples' light.
  double at(double x, double y) const {
    const int ix = static_cast<int>(std::floor(x)), iy = static_cast<int>(std::floor(y));
    const double fx = x - ix, fy = y - iy;
    double wx[4], wy[4];
    weights(fx, wx), weights(fy, wy);
    double sum = 0;
    for (int j = 0; j < 4; ++j) {
      double row = 0;
      for (int i = 0; i < 4; ++i)
        row += wx[i] *
               static_cast<double>(table_[static_cast<std::size_t>(picture_.at(ix + i - 1, iy + j - 1))]);
      sum += wy[j] * row;
    }
    return sum;
  }
  bool holds(double x, double y) const {
    return x >= 2 && y >= 2 && x < picture_.width_px - 3 && y < picture_.height_px - 3;
  }

private:
  static void weights(double f, double* w) {
    w[0] = f * (-0.5 + f * (1 - 0.5 * f));
    w[1] = 1 + f * f * (-2.5 + 1.5 * f);
    w[2] = f * (0.5 + f * (2 - 1.5 * f));
    w[3] = f * f * (-0.5 + 0.5 * f);
  }
  const Picture& picture_;
  const std::vector<float>& table_;
};

}  // namespace rondure
