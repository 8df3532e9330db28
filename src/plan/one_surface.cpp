#include "one_surface.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace rondure::plan {
namespace {

// What is said of one name holds for the other.
class SaidOf {
public:
  explicit SaidOf(const std::vector<SharedSurface>& shared) : shared_(shared) {}
  void put(std::string& name) const {
    for (const SharedSurface& s : shared_)
      if (name == s.other) name = s.name;
  }
  template <class Value>
  Result<void> put_once(std::vector<std::pair<std::string, Value>>& list) const {
    for (const SharedSurface& s : shared_) {
      const auto said = [&](const std::string& name) {
        return std::ranges::any_of(list, [&](const auto& one) { return one.first == name; });
      };
      if (said(s.name) && said(s.other))
        return Error{ErrorCode::kBadArgument, fmt::format("found one thing said of '{}' and another of '{}', "
                                                          "which are one surface; needed one of them",
                                                          s.name, s.other)};
    }
    for (auto& one : list) put(one.first);
    return {};
  }

private:
  const std::vector<SharedSurface>& shared_;
};

Result<void> rename(const std::vector<SharedSurface>& shared, PlanOptions& options) {
  const SaidOf said(shared);
  if (const auto ok = said.put_once(options.chosen_mm); !ok) return ok;
  if (const auto ok = said.put_once(options.tolerances); !ok) return ok;
  said.put(options.running_surface);
  for (auto& width_and_outside : options.width_of) said.put(width_and_outside.second);
  for (ProfileStep& step : options.steps) said.put(step.name), said.put(step.outside_size);
  return {};
}

}  // namespace

Result<PlannedOnce> planned_once(const PartRecord& record, const PlanOptions& options) {
  PlannedOnce once{surfaces_once(record, "planned"), options};
  if (const auto ok = rename(once.shared, once.options); !ok) return ok.error();
  return once;
}

}  // namespace rondure::plan
