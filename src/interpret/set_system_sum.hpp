// The sum over drawn sizes and over the rows of every batch, in one unit system, for all habits of its designers.
#pragma once
#include <functional>
#include <map>
#include <vector>

#include "set_batches.hpp"
#include "set_choices.hpp"

namespace rondure {

// What the sums of both systems add up to, before it is scaled to 1.
struct SetMasses {
  double total = 0;
  std::array<double, 2> system{};
  std::array<Eigen::ArrayXd, 2> habit;  // of each system, as far as it was summed
  std::vector<PartMasses> all, odd;     // per part
  std::vector<double> p_other_drawing, p_stranger, p_worn;
  std::vector<std::vector<std::array<std::vector<double>, 2>>> drawn;  // [part][feature][system][candidate]
  std::vector<std::vector<double>> further;                            // [batch][row]
};

class SystemSum {
public:
  SystemSum(const SetModel& model, const SetBatches& batches, const std::vector<PartTable>& tables,
            std::size_t system, std::vector<SizeChoice> choices);

  // Largest value that the part contributes to any row; by which all is divided then (PartTable::rescale).
  double most_of_part(std::size_t part) const { return most_[part].maxCoeff(); }
  void rescale(std::size_t part, double factor);
  // After the scaling: bounds of what is left out.
  void prepare();
  // The total of the likeliest choice: the sums of all are at least that.
  double lower_bound();
  // Bounds of what each habit can come to, all choices together.
  Eigen::ArrayXd most_of_habits() const;
  // The choices with the chances of some of the habits.
  std::vector<SizeChoice> choices(const std::vector<Eigen::Index>& kept) const;
  std::size_t system() const { return system_; }
  // How many choices there are, that of no part sharing its drawings among them.
  std::size_t count() const { return choices_.size() + 1; }
  // All choices, where it matters beside `at_least`; returns their sum. `one_more` is called after each.
  double evaluate(double at_least, const std::function<void()>& one_more);
  // Adds the masses of all choices but those that together are kNeglected of `total`.
  void accumulate(double total, SetMasses& masses, const std::function<void()>& one_more);

private:
  using Rows = std::vector<std::size_t>;
  struct Evaluated {
    double total = 0;
    std::vector<Rows> rows;  // per batch: those that count
  };
  Evaluated evaluate(const SizeChoice* choice, const Eigen::ArrayXd& prior, double negligible) const;
  // What a part says of the sizes that it shares, row by row, and the mass that the others give it. Where many choices
  // (pairs of two tied sizes) ask a part for few sizes, each is worked out once.
  struct OfSizes {
    const SizeChoice* choice = nullptr;  // one that asks for them
    NodeTable belonging, rest;           // of all rows
  };
  void find_repeated();
  OfSizes* repeated(std::size_t part, const SizeChoice& choice) const;
  void contribution(std::size_t part, const SizeChoice* choice, const Rows& rows, NodeTable& sum) const;
  void accumulate(const SizeChoice* choice, const Eigen::ArrayXd& prior, const std::vector<Rows>& rows,
                  SetMasses& masses);
  void accumulate_batch(std::size_t batch, const SizeChoice* choice, const Eigen::ArrayXd& others,
                        const Rows& rows, SetMasses& masses);
  void finish(SetMasses& masses) const;
  Eigen::ArrayXd prior_of(const SizeChoice& choice) const;
  Eigen::ArrayXd prior_of_none() const;
  bool shares(std::size_t part) const { return model_.parts[part].shares(); }
  double chance_belonging(std::size_t p) const {
    return 1 - model_.parts[p].chance_other_drawing - model_.parts[p].chance_stranger;
  }

  const SetModel& model_;
  const SetBatches& batches_;
  const std::vector<PartTable>& tables_;
  std::size_t system_;
  std::vector<SizeChoice> choices_;
  Eigen::ArrayXd chance_;                          // of the habits
  std::vector<std::vector<std::size_t>> members_;  // parts per batch: those that share nothing first
  std::vector<HabitTable> own_, most_;  // per part, rows x habits: its own drawings; a bound of all
  std::vector<HabitTable> after_;       // per part: product of the bounds of the parts after it in its batch
  std::vector<HabitTable> before_sharing_;  // per batch: chance of the row times all parts that share nothing
  std::vector<Eigen::ArrayXd> batch_most_;  // per batch: bound of its sum, per habit
  std::vector<Evaluated> evaluated_;        // per choice; the last: no part shares the drawings
  std::vector<HabitTable> rest_;            // per part: mass without the part itself
  mutable NodeTable room_, room_of_rows_, part_;  // of the sum under way
  std::vector<NodeTable> f_, before_;
  mutable std::vector<std::map<std::vector<std::size_t>, OfSizes>> repeated_;  // per part; empty: not kept
};

}  // namespace rondure
