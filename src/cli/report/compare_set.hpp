// `rondure compare A.json B.json C.json ...` or `rondure compare SET.json`: which of equal parts has worn most.
#pragma once
#include <string>
#include <vector>

namespace rondure::cli {

struct WearQuestion {
  std::vector<std::string> files;  // part records; or the one answer of a set
  std::string feature;             // empty: the one that all have
  bool against_plan = false;
  std::string json, unit = "mm";
  bool quiet = false;
};

int compare_wear(const WearQuestion& question);

}  // namespace rondure::cli
