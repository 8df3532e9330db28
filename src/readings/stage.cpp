#include "rondure/readings/stage.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>

#include "rondure/core/dense_solve.hpp"
#include "rondure/core/largest_gap.hpp"

namespace rondure {
namespace {

using Eigen::MatrixXd;
using Eigen::Vector2d;
using Eigen::VectorXd;

Vector2d true_from_read(double e_x, double e_y, double phi, const Vector2d& read) {
  return {(1 + e_x) * read.x() + (1 + e_y) * read.y() * std::sin(phi), (1 + e_y) * read.y() * std::cos(phi)};
}

// One orientation of the part: its readings, taken from their mean (the model's centre takes up the shift).
struct Setting {
  double turned_rad = 0;
  Vector2d mean = Vector2d::Zero();
  std::vector<Vector2d> read;
  std::vector<int> index;  // into the readings' points
};

std::vector<Setting> settings_of(const Readings& readings) {
  std::map<long, Setting> by_angle;  // to a hundredth of a degree
  for (std::size_t i = 0; i < readings.points.size(); ++i) {
    const double turned = readings.orientation_rad.empty() ? 0 : readings.orientation_rad[i];
    Setting& s = by_angle[std::lround(deg(turned) * 100)];
    s.turned_rad = turned;
    s.read.push_back(readings.points[i].at.vec());
    s.index.push_back(int(i));
  }
  std::vector<Setting> settings;
  for (auto& [key, s] : by_angle) {
    for (const auto& p : s.read) s.mean += p / double(s.read.size());
    for (auto& p : s.read) p -= s.mean;
    settings.push_back(std::move(s));
  }
  return settings;
}

// How well the orientations part the two ovalities: the part's turns by twice the angle. 0 (not at all) to 1.
double turn_contrast(const std::vector<Setting>& settings) {
  double best = 0;
  for (const auto& a : settings)
    for (const auto& b : settings) best = std::max(best, std::abs(std::sin(a.turned_rad - b.turned_rad)));
  return best;
}

// Linear least-squares circle x^2 + y^2 = 2 a x + 2 b y + c as a start.
struct Start {
  Vector2d center;
  double radius;
};
std::optional<Start> linear_circle(const std::vector<Vector2d>& points) {
  MatrixXd A(points.size(), 3);
  VectorXd rhs(points.size());
  double size = 0;
  for (const auto& p : points) size = std::max(size, p.norm());
  if (!(size > 0)) return std::nullopt;
  for (Eigen::Index i = 0; i < A.rows(); ++i) {
    const Vector2d p = points[std::size_t(i)] / size;
    A.row(i) << 2 * p.x(), 2 * p.y(), 1;
    rhs[i] = p.squaredNorm();
  }
  const LeastSquares linear = least_squares(A, rhs);
  if (linear.rank < 3) return std::nullopt;
  const Eigen::Vector3d s = linear.x;
  const double radius2 = s[2] + s.head<2>().squaredNorm();
  if (!(radius2 > 0) || !std::isfinite(radius2)) return std::nullopt;
  return Start{s.head<2>() * size, std::sqrt(radius2) * size};
}

// Parameters in the order e_x, e_y, phi | radius, p, q | centres. Columns that the case does not free are
// left out.
struct Problem {
  std::vector<Setting> settings;
  bool absolute = true, form = false;
  double half_diameter = 0;
  VectorXd parameters;
  int points = 0;

  // Columns of the unknowns; before them the two scales and the squareness; p and q are the second
  // harmonic's.
  static constexpr int kRadius = 3, kP = 4, kQ = 5, kCentres = 6;

  std::vector<int> free_columns() const {
    std::vector<int> columns{0, 1, 2};
    if (!absolute) columns = {0, 2, kRadius};  // e_x = -e_y, radius free
    if (form) columns.insert(columns.end(), {kP, kQ});
    for (int i = 0; i < 2 * int(settings.size()); ++i) columns.push_back(kCentres + i);
    return columns;
  }

  // Residuals, and the Jacobian over all columns.
  void evaluate(VectorXd& residuals, MatrixXd& jacobian, VectorXd& directions) const {
    residuals.resize(points);
    directions.resize(points);
    jacobian = MatrixXd::Zero(points, parameters.size());
    const double e_x = parameters[0], e_y = parameters[1], phi = parameters[2];
    int row = 0;
    for (std::size_t k = 0; k < settings.size(); ++k) {
      const Eigen::Index c = kCentres + 2 * Eigen::Index(k);
      const Vector2d center = parameters.segment<2>(c);
      for (const Vector2d& read : settings[k].read) {
        const Vector2d d = true_from_read(e_x, e_y, phi, read) - center;
        const double distance = std::max(d.norm(), 1e-12);
        const Vector2d u = d / distance;
        directions[row] = std::atan2(d.y(), d.x());
        const double a = 2 * (directions[row] - settings[k].turned_rad);
        residuals[row] =
            distance - parameters[kRadius] - parameters[kP] * std::cos(a) - parameters[kQ] * std::sin(a);
        const double s = std::sin(phi), co = std::cos(phi), y = (1 + e_y) * read.y();
        jacobian(row, 0) = u.x() * read.x();
        jacobian(row, 1) = u.dot(Vector2d(s, co)) * read.y();
        jacobian(row, 2) = u.dot(Vector2d(co, -s)) * y;
        if (!absolute) jacobian(row, 0) -= jacobian(row, 1);
        jacobian(row, kRadius) = -1;
        jacobian(row, kP) = -std::cos(a);
        jacobian(row, kQ) = -std::sin(a);
        jacobian.block<1, 2>(row, c) = -u.transpose();
        ++row;
      }
    }
  }
};

struct Solution {
  MatrixXd cofactor;  // over the free columns
  VectorXd residuals, directions, leverage;
  std::vector<int> columns;
};

Result<Solution> solve(Problem& problem) {
  Solution s;
  s.columns = problem.free_columns();
  const auto n_free = Eigen::Index(s.columns.size());
  MatrixXd all, J(problem.points, n_free);
  for (int iteration = 0; iteration < 50; ++iteration) {
    problem.evaluate(s.residuals, all, s.directions);
    for (Eigen::Index j = 0; j < n_free; ++j) J.col(j) = all.col(s.columns[std::size_t(j)]);
    const VectorXd scale = J.colwise().norm().cwiseMax(1e-300);
    const MatrixXd scaled = J * scale.cwiseInverse().asDiagonal();
    const LeastSquares linear = least_squares(scaled, s.residuals);
    if (linear.rank < n_free)
      return Error{ErrorCode::kBadCalibration,
                   "the readings do not tell scale and squareness apart, needed readings all round"};
    const VectorXd step = scale.cwiseInverse().cwiseProduct(linear.x);
    if (!step.allFinite()) return Error{ErrorCode::kBadCalibration, "the readings give no circle"};
    for (Eigen::Index j = 0; j < n_free; ++j) problem.parameters[s.columns[std::size_t(j)]] -= step[j];
    if (!problem.absolute) problem.parameters[1] = -problem.parameters[0];
    if (std::abs(problem.parameters[0]) > 0.9 || std::abs(problem.parameters[1]) > 0.9 ||
        std::abs(problem.parameters[2]) > 1)
      return Error{ErrorCode::kBadCalibration, "the readings are far from a circle of the pin's size"};
    if (step.cwiseProduct(scale).norm() < 1e-14 * scale.norm()) break;
  }
  problem.evaluate(s.residuals, all, s.directions);
  for (Eigen::Index j = 0; j < n_free; ++j) J.col(j) = all.col(s.columns[std::size_t(j)]);
  const VectorXd scale = J.colwise().norm().cwiseMax(1e-300);
  const MatrixXd scaled = J * scale.cwiseInverse().asDiagonal();
  const MatrixXd inverse = inverse_symmetric(gram(scaled));
  s.leverage = (scaled * inverse).cwiseProduct(scaled).rowwise().sum();
  s.cofactor = scale.cwiseInverse().asDiagonal() * inverse * scale.cwiseInverse().asDiagonal();
  return s;
}

std::string mm_text(double mm) { return format_mm(mm, 4); }

// The normal deviate that is as unlikely as |t| with so many degrees of freedom (Wallace, Ann. Math. Statist.
// 30 (1959) 1124; from memory).
double normal_for_t(double t, int degrees_of_freedom) {
  const double nu = degrees_of_freedom;
  return (8 * nu + 1) / (8 * nu + 3) * std::sqrt(nu * std::log1p(t * t / nu));
}

// A reading that the others contradict: its deviation over their scatter (externally studentised) is as
// unlikely as 4.9 standard deviations, one in a million.
std::optional<Eigen::Index> stray_reading(const Solution& s, int degrees_of_freedom, double least_sigma) {
  if (degrees_of_freedom < 3) return std::nullopt;
  const double ssq = s.residuals.squaredNorm();
  std::optional<Eigen::Index> worst;
  double largest = 4.9;
  for (Eigen::Index i = 0; i < s.residuals.size(); ++i) {
    const double free = std::max(1 - s.leverage[i], 1e-6);
    const double r2 = s.residuals[i] * s.residuals[i] / free;
    const double sigma =
        std::max({std::sqrt(std::max(ssq - r2, 0.0) / (degrees_of_freedom - 1)), least_sigma, 1e-9});
    const double z = normal_for_t(std::sqrt(r2) / sigma, degrees_of_freedom - 1);
    if (z > largest) largest = z, worst = i;
  }
  return worst;
}

Result<Problem> set_up(const Readings& readings, const StageOptions& options) {
  Problem problem;
  problem.settings = settings_of(readings);
  problem.points = int(readings.points.size());
  problem.absolute = options.pin_diameter_mm.has_value();
  problem.form = turn_contrast(problem.settings) >= 0.25;  // about 15 degrees
  if (!problem.absolute && !problem.form)
    return Error{ErrorCode::kNoAnswer,
                 "found neither the diameter of a pin nor the part at two orientations, needed one of them"};
  const int unknowns = int(problem.free_columns().size());
  const int needed = unknowns + 3;
  if (problem.points < needed)
    return Error{ErrorCode::kTooFewPoints, "found " + std::to_string(problem.points) +
                                               " readings, needed at least " + std::to_string(needed) +
                                               " round the pin (12 or more are better)"};
  problem.parameters = VectorXd::Zero(Problem::kCentres + 2 * Eigen::Index(problem.settings.size()));
  double radius = 0;
  for (std::size_t k = 0; k < problem.settings.size(); ++k) {
    const auto start = linear_circle(problem.settings[k].read);
    if (!start)
      return Error{ErrorCode::kCollinear,
                   "found no circle in the readings at orientation " +
                       std::to_string(std::lround(deg(problem.settings[k].turned_rad))) +
                       " degrees, needed readings all round the pin"};
    problem.parameters.segment<2>(Problem::kCentres + 2 * Eigen::Index(k)) = start->center;
    radius += start->radius / double(problem.settings.size());
  }
  problem.parameters[Problem::kRadius] = problem.absolute ? options.pin_diameter_mm->value / 2 : radius;
  if (problem.absolute) {
    const double ratio = options.pin_diameter_mm->value / (2 * radius);
    if (!(std::abs(ratio - 1) <= kLargestScaleError))
      return Error{ErrorCode::kBadCalibration,
                   "the readings give a diameter of " + mm_and_inch(2 * radius) + " where the pin has " +
                       mm_text(options.pin_diameter_mm->value) + ", needed the same pin in the same unit"};
  }
  return problem;
}

// What the pin itself brings in: its size moves both scales alike, its ovality passes for the stage's.
Eigen::Matrix3d covariance_of_pin(double radius, double u_radius, double u_form) {
  Eigen::Vector3d size(u_radius / radius, u_radius / radius, 0);
  Eigen::Vector3d along(u_form / radius, -u_form / radius, 0), across(0, 0, 2 * u_form / radius);
  return size * size.transpose() + along * along.transpose() + across * across.transpose();
}

}  // namespace

PartPoint StageCalibration::part_from_stage(StagePoint read) const {
  return PartPoint::from(
      true_from_read(scale_x_ratio, scale_y_ratio, squareness_rad, {read.x_mm, read.y_mm}));
}

double StageCalibration::u_mean_scale_ratio() const {
  return std::sqrt(std::max(0.0, covariance(0, 0) + covariance(1, 1) + 2 * covariance(0, 1))) / 2;
}

double StageCalibration::u_ovality_ratio() const {
  const double difference = covariance(0, 0) + covariance(1, 1) - 2 * covariance(0, 1);
  return std::sqrt(std::max({0.0, difference, covariance(2, 2)}));
}

double StageCalibration::apparent_ovality_mm(double diameter_mm) const {
  return diameter_mm * std::hypot(scale_x_ratio - scale_y_ratio, squareness_rad);
}

Result<StageCalibration> calibrate_stage(const Readings& readings, const StageOptions& options) {
  if (options.pin_diameter_mm && !(options.pin_diameter_mm->value > 0))
    return Error{ErrorCode::kBadArgument,
                 "found a pin of " + mm_text(options.pin_diameter_mm->value) + ", needed more than 0"};
  auto problem = set_up(readings, options);
  if (!problem) return problem.error();
  const auto solved = solve(*problem);
  if (!solved) return solved.error();
  const int degrees_of_freedom = problem->points - int(solved->columns.size());
  const double least_sigma = readings.resolution_mm / std::sqrt(12.0);

  std::vector<int> lines;
  for (const auto& s : problem->settings)
    for (const int i : s.index) lines.push_back(readings.points[std::size_t(i)].line);
  if (const auto stray = stray_reading(*solved, degrees_of_freedom, least_sigma))
    return Error{ErrorCode::kBadCalibration,
                 "the reading in line " + std::to_string(lines[std::size_t(*stray)]) + " lies " +
                     mm_text(std::abs(solved->residuals[*stray])) +
                     " off where the others agree, needed it read again or removed"};

  StageCalibration stage;
  stage.scale_x_ratio = problem->parameters[0];
  stage.scale_y_ratio = problem->parameters[1];
  stage.squareness_rad = problem->parameters[2];
  stage.absolute = problem->absolute;
  stage.readings = problem->points;
  stage.orientations = int(problem->settings.size());
  const double radius = problem->parameters[Problem::kRadius];
  stage.pin_diameter_mm = options.pin_diameter_mm.value_or(Estimate{2 * radius, 0});
  stage.rms_mm = std::sqrt(solved->residuals.squaredNorm() / degrees_of_freedom);
  const double sigma2 = std::pow(std::max(stage.rms_mm, least_sigma), 2);

  const auto column = [&](int c) {
    return std::find(solved->columns.begin(), solved->columns.end(), c) - solved->columns.begin();
  };
  const MatrixXd cofactor = solved->cofactor;
  if (stage.absolute) {
    stage.covariance = sigma2 * cofactor.topLeftCorner<3, 3>();
  } else {  // e_y = -e_x
    Eigen::Matrix<double, 3, 2> both;
    both << 1, 0, -1, 0, 0, 1;
    stage.covariance = sigma2 * both * cofactor.topLeftCorner<2, 2>() * both.transpose();
  }
  const double u_form = problem->form ? 0 : options.pin_roundness_mm / 2 / std::sqrt(3.0);
  stage.pin_roundness_mm = problem->form ? 0 : options.pin_roundness_mm;
  stage.covariance += covariance_of_pin(radius, stage.absolute ? stage.pin_diameter_mm.u / 2 : 0, u_form);
  if (problem->form) {
    const double p = problem->parameters[Problem::kP], q = problem->parameters[Problem::kQ];
    const auto at = column(Problem::kP);
    const double variance = sigma2 * std::max(cofactor(at, at), cofactor(at + 1, at + 1));
    stage.part_ovality_mm = Estimate{4 * std::hypot(p, q), 4 * std::sqrt(variance)};
    if (stage.part_ovality_mm->value > 2 * stage.part_ovality_mm->u)
      stage.part_ovality_axis_deg = deg(wrap_axis_rad(std::atan2(q, p) / 2));
  }

  std::size_t row = 0;
  stage.coverage_deg = 360;
  for (const auto& s : problem->settings) {
    std::vector<double> directions;
    for (std::size_t i = 0; i < s.read.size(); ++i, ++row) {
      const double angle_deg = deg(wrap_direction_rad(solved->directions[Eigen::Index(row)]));
      directions.push_back(angle_deg);
      stage.residuals.push_back({angle_deg, solved->residuals[Eigen::Index(row)], lines[row]});
    }
    stage.coverage_deg = std::min(stage.coverage_deg, 360 - largest_gap(directions, 360).width);
  }
  const double largest_u = std::sqrt(stage.covariance.diagonal().maxCoeff());
  if (!(largest_u <= kLargestScaleU))
    return Error{ErrorCode::kBadCalibration,
                 "readings over " + std::to_string(std::lround(stage.coverage_deg)) +
                     " degrees leave the scale uncertain, needed readings all round the pin"};
  if (std::max(std::abs(stage.scale_x_ratio), std::abs(stage.scale_y_ratio)) > kLargestScaleError ||
      std::abs(stage.squareness_rad) > kLargestScaleError)
    return Error{ErrorCode::kBadCalibration,
                 "scale or squareness beyond 5 %, needed a pin of the stated size"};
  return stage;
}

Result<PartPoints> points_on_part(const Readings& readings, const StageCalibration* stage) {
  PartPoints out;
  const auto settings = settings_of(readings);
  StageCalibration used;
  if (stage) {
    used = *stage;
  } else if (settings.size() > 1 && turn_contrast(settings) >= 0.25) {
    auto own = calibrate_stage(readings, {});
    if (!own) return own.error();
    used = *own;
    out.own = std::move(*own);
  }
  if (stage || out.own) {
    out.u_scale_ratio = used.u_mean_scale_ratio();
    out.u_ovality_ratio = used.u_ovality_ratio();
  }
  out.points = readings.points;
  for (auto& p : out.points) p.at = used.part_from_stage({p.at.x_mm, p.at.y_mm});
  if (settings.size() < 2) return out;
  for (const auto& s : settings) {
    std::vector<Vector2d> points;
    for (const int i : s.index) points.push_back(out.points[std::size_t(i)].at.vec());
    Vector2d mean = Vector2d::Zero();
    for (const auto& p : points) mean += p / double(points.size());
    for (auto& p : points) p -= mean;
    const auto circle = linear_circle(points);
    if (points.size() < 3 || !circle)
      return Error{ErrorCode::kCollinear, "found no circle in the readings at orientation " +
                                              std::to_string(std::lround(deg(s.turned_rad))) +
                                              " degrees, needed three or more round the part"};
    const Eigen::Matrix2d back = Eigen::Rotation2Dd(-s.turned_rad).toRotationMatrix();
    for (std::size_t j = 0; j < points.size(); ++j)
      out.points[std::size_t(s.index[j])].at = PartPoint::from(back * (points[j] - circle->center));
  }
  return out;
}

}  // namespace rondure
