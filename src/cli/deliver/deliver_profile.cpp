#include "cli/deliver/deliver_profile.hpp"

#include <iostream>

#include "cli/terminal/paint.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/record/profile_section.hpp"
#include "rondure/report/profile_text.hpp"

namespace rondure::cli {
namespace {

Result<void> write_json(const std::vector<Feature>& features, const SideProfile& profile,
                        const CommonOptions& common) {
  PartRecord record;
  record.material = common.material;
  record.features = features;
  put_profile(record, profile);
  if (common.json != "-") return write_file_atomically(common.json, to_json(record));
  std::cout << to_json(record);
  return {};
}

}  // namespace

int deliver_profile(std::vector<Feature> features, const SideProfile& profile, const CommonOptions& common) {
  if (!common.quiet && common.json != "-") std::cout << profile_text(profile, text_options(common.unit));
  if (!common.save.empty()) {
    CommonOptions silent = common;
    silent.quiet = true, silent.json.clear();
    if (const int saved = deliver(features, silent); saved != kDone) return saved;
    const auto put = [&](PartRecord& record) -> Result<void> {
      return put_profile(record, profile), Result<void>{};
    };
    if (const auto saved = update_part_record(common.save, put); !saved) return report_error(saved.error());
    if (!common.quiet && common.json != "-")
      std::cout << "saved in " << common.save << ": the profile and " << features.size() << " features\n";
  }
  if (!common.json.empty())
    if (const auto written = write_json(features, profile, common); !written)
      return report_error(written.error());
  return finish_output();
}

}  // namespace rondure::cli
