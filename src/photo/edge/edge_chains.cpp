#include "photo/edge/edge_chains.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "rondure/core/order_statistic.hpp"
#include "rondure/core/parallel.hpp"

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement; what comes of them all is checked by
// tests/bench/study_photo_parts and study_photo_scenes.
constexpr double kSmoothing_px = 1.0;  // Gaussian before the gradient, reduced px
constexpr double kWeakest = 1.6;       // grey levels (of 255) per px: weaker edges are never followed
constexpr double kWeakInNoise = 4.5, kStrongInNoise = 8;  // thresholds in units of the gradient's noise
constexpr int kShortestChain = 8;  // points, one a reduced px: noise makes shorter ones; by judgement
constexpr int kStripRows = 64;     // of the reduced picture, a core's share at a time
constexpr std::size_t kNodesAtOnce = 4096;  // likewise

// Mean of each block of n x n samples, scaled to 0 ... 255.
cv::Mat1f reduced(const Picture& picture, int n) {
  const int width = picture.width_px / n, height = picture.height_px / n;
  cv::Mat1f out(height, width);
  const float scale = static_cast<float>(255.0 / picture.full_scale() / (n * n));
  cv::parallel_for_(cv::Range(0, height), [&](const cv::Range& rows) {
    std::vector<std::uint32_t> sum(static_cast<std::size_t>(width));
    for (int y = rows.start; y < rows.end; ++y) {
      std::fill(sum.begin(), sum.end(), 0u);
      for (int r = 0; r < n; ++r) {
        const std::size_t start = (static_cast<std::size_t>(y) * n + r) * picture.width_px;
        if (picture.bits == 8) {
          const std::uint8_t* p = picture.grey8.data() + start;
          for (int x = 0; x < width; ++x)
            for (int c = 0; c < n; ++c) sum[x] += *p++;
        } else {
          const std::uint16_t* p = picture.grey16.data() + start;
          for (int x = 0; x < width; ++x)
            for (int c = 0; c < n; ++c) sum[x] += *p++;
        }
      }
      float* row = out[y];
      for (int x = 0; x < width; ++x) row[x] = scale * static_cast<float>(sum[x]);
    }
  });
  return out;
}

// Noise of the gradient's length: its median over a picture that is mostly flat is 1.18 sigma (Rayleigh); the
// lower quartile (0.76 sigma) stands more texture.
double gradient_noise(const cv::Mat1f& dx, const cv::Mat1f& dy) {
  std::vector<float> sample;
  for (int y = 2; y < dx.rows - 2; y += 5)
    for (int x = 2; x < dx.cols - 2; x += 5) sample.push_back(std::hypot(dx(y, x), dy(y, x)));
  if (sample.empty()) return 0;
  return order_statistic(sample, sample.size() / 4) / 0.7585;
}

struct Node {
  float x, y;  // reduced px
  float gx, gy, strength;
  int next = -1, previous = -1;
};

// Points where the gradient's length is greatest along its own direction, by a parabola through three values.
std::vector<Node> ridge_points(const cv::Mat1f& dx, const cv::Mat1f& dy, double weak, cv::Mat1i& index) {
  std::vector<Node> nodes;
  const cv::Rect inside(0, 0, dx.cols, dx.rows);
  cv::Mat1f length;
  cv::magnitude(dx, dy, length);
  const auto at = [&](double x, double y) {
    const int ix = static_cast<int>(x), iy = static_cast<int>(y);
    const double fx = x - ix, fy = y - iy;
    return (1 - fy) * ((1 - fx) * length(iy, ix) + fx * length(iy, ix + 1)) +
           fy * ((1 - fx) * length(iy + 1, ix) + fx * length(iy + 1, ix + 1));
  };
  // Each strip of rows its own list; in a row, one after the other.
  const int strips = std::max(1, (dx.rows - 5 + kStripRows - 1) / kStripRows);
  std::vector<std::vector<Node>> found(static_cast<std::size_t>(strips));
  in_parallel(strips, [&](int strip) {
    std::vector<Node>& own = found[static_cast<std::size_t>(strip)];
    const int end = std::min(dx.rows - 3, 2 + (strip + 1) * kStripRows);
    for (int y = 2 + strip * kStripRows; y < end; ++y)
      for (int x = 2; x < dx.cols - 3; ++x) {
        const double m = length(y, x);
        if (m < weak) continue;
        const double ux = dx(y, x) / m, uy = dy(y, x) / m;
        const double before = at(x - ux, y - uy), after = at(x + ux, y + uy);
        if (m < before || m <= after) continue;
        const double bend = before - 2 * m + after;
        const double shift = bend < 0 ? std::clamp(0.5 * (before - after) / bend, -0.6, 0.6) : 0.0;
        index(y, x) = static_cast<int>(own.size());
        own.push_back({static_cast<float>(x + shift * ux), static_cast<float>(y + shift * uy),
                       static_cast<float>(ux), static_cast<float>(uy), static_cast<float>(m)});
      }
  });
  std::vector<int> first(1, 0);  // node of each strip
  for (const auto& own : found) first.push_back(first.back() + static_cast<int>(own.size()));
  nodes.reserve(static_cast<std::size_t>(first.back()));
  for (const auto& own : found) nodes.insert(nodes.end(), own.begin(), own.end());
  in_parallel(strips, [&](int strip) {
    const int end = std::min(dx.rows - 3, 2 + (strip + 1) * kStripRows);
    for (int y = 2 + strip * kStripRows; y < end; ++y)
      for (int x = 2; x < dx.cols - 3; ++x)
        if (index(y, x) >= 0) index(y, x) += first[static_cast<std::size_t>(strip)];
  });
  return nodes;
}

// Each point's neighbour along the edge (bright side on the left when walking with y down), both must agree.
void link(std::vector<Node>& nodes, const cv::Mat1i& index) {
  const auto best = [&](const Node& from, double direction) {
    const double tx = -from.gy * direction, ty = from.gx * direction;
    const int cx = cvRound(from.x), cy = cvRound(from.y);
    int found = -1;
    double nearest = 1e9;
    for (int y = std::max(cy - 2, 0); y <= std::min(cy + 2, index.rows - 1); ++y)
      for (int x = std::max(cx - 2, 0); x <= std::min(cx + 2, index.cols - 1); ++x) {
        const int i = index(y, x);
        if (i < 0 || &nodes[i] == &from) continue;
        const Node& to = nodes[i];
        const double ex = to.x - from.x, ey = to.y - from.y, along = ex * tx + ey * ty;
        if (along < 0.3 || to.gx * from.gx + to.gy * from.gy < 0.6) continue;
        const double across = std::abs(ex * from.gx + ey * from.gy);
        const double cost = along + 2 * across;
        if (across < 1.2 && cost < nearest) nearest = cost, found = i;
      }
    return found;
  };
  in_parallel(static_cast<int>(nodes.size() / kNodesAtOnce + 1), [&](int part) {
    const std::size_t end = std::min(nodes.size(), (static_cast<std::size_t>(part) + 1) * kNodesAtOnce);
    for (std::size_t i = static_cast<std::size_t>(part) * kNodesAtOnce; i < end; ++i) {
      nodes[i].next = best(nodes[i], 1);
      nodes[i].previous = best(nodes[i], -1);
    }
  });
  for (std::size_t i = 0; i < nodes.size(); ++i)
    if (const int n = nodes[i].next; n >= 0 && nodes[n].previous != static_cast<int>(i)) nodes[i].next = -1;
  for (std::size_t i = 0; i < nodes.size(); ++i)
    if (const int p = nodes[i].previous; p >= 0 && nodes[p].next != static_cast<int>(i))
      nodes[i].previous = -1;
}

}  // namespace

EdgeChains find_edge_chains(const Picture& picture, int longest_side_px) {
  EdgeChains chains;
  const int longest = std::max(picture.width_px, picture.height_px);
  chains.reduction = std::max(1, (longest + longest_side_px - 1) / longest_side_px);
  chains.starts.push_back(0);
  if (picture.width_px / chains.reduction < 8 || picture.height_px / chains.reduction < 8) return chains;
  cv::Mat1f grey = reduced(picture, chains.reduction), dx, dy;
  cv::GaussianBlur(grey, grey, {}, kSmoothing_px);
  cv::Sobel(grey, dx, CV_32F, 1, 0, 3, 1.0 / 8);
  cv::Sobel(grey, dy, CV_32F, 0, 1, 3, 1.0 / 8);
  chains.noise = gradient_noise(dx, dy);
  const double weak = std::max(kWeakest, kWeakInNoise * chains.noise);
  const double strong = std::max(2 * kWeakest, kStrongInNoise * chains.noise);
  cv::Mat1i index(grey.rows, grey.cols, -1);
  std::vector<Node> nodes = ridge_points(dx, dy, weak, index);
  link(nodes, index);

  const double n = chains.reduction;
  std::vector<char> seen(nodes.size(), 0);
  const auto follow = [&](int first) {
    const std::size_t begin = chains.edgels.size();
    float strongest = 0;
    for (int i = first; i >= 0 && !seen[i]; i = nodes[i].next) {
      seen[i] = 1;
      const Node& node = nodes[i];
      strongest = std::max(strongest, node.strength);
      chains.edgels.push_back(
          {{(node.x + 0.5) * n - 0.5, (node.y + 0.5) * n - 0.5}, node.gx, node.gy, node.strength});
    }
    if (chains.edgels.size() - begin < kShortestChain || strongest < strong)
      chains.edgels.resize(begin);
    else
      chains.starts.push_back(static_cast<int>(chains.edgels.size()));
  };
  for (std::size_t i = 0; i < nodes.size(); ++i)
    if (nodes[i].previous < 0) follow(static_cast<int>(i));
  for (std::size_t i = 0; i < nodes.size(); ++i)
    if (!seen[i]) follow(static_cast<int>(i));  // closed chains
  return chains;
}

}  // namespace rondure
