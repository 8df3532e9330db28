// A comparison as JSON: format "rondure-comparison", version 1. Keys as in the part record (_mm, _deg, u_ for
// standard uncertainties, interval95); what is not known is absent.
//
//   {"format":"rondure-comparison","version":1,"a":{"file":..},"b":{"file":..},
//    "features":[{"name":..,"kind":..,"a_mm":..,"u_a_mm":..,"b_mm":..,"u_b_mm":..,
//                 "difference_mm":..,"u_difference_mm":..,"interval95_mm":[lo,hi],"shared":["scale"],
//                 "change":"larger|smaller|not shown",
//                 "planned":{"target_mm":..,"lower_mm":..,"upper_mm":..},
//                 "verdict":"within|outside|cannot tell","guard_mm":..,"probability_within":..,
//                 "shrinkage":{"mean":..,"u":..},
//                 "ovality":{"a_mm":..,"b_mm":..},"RONt":{"a_mm":..,"b_mm":..},
//                 "harmonics":[{"upr":..,"a_mm":..,"b_mm":..,"difference_mm":..,"phase_deg":..,"u_mm":..,"shown":bool}]}],
//    "shrinkage":{"mean":..,"u":..,"interval95":[lo,hi],"features":n,"p_alike":..},
//    "profile":[{"name":..,"radius_difference_mm":..,"u_radius_difference_mm":..,"deepest_mm":..,"u_deepest_mm":..,
//                "deepest_at_mm":..,"worn":bool,"points":[[z_mm,difference_mm]..]}],   (two side views)
//    "turn_deg":..,"only_in_a":[..],"only_in_b":[..],"warnings":[..]}
//
// It is only ever written: no code of the library reads it back, so there is no list of fields for both ways.
#pragma once
#include <string>

#include "rondure/interpret/compare.hpp"
#include "rondure/profile/compare_profiles.hpp"

namespace rondure {

std::string comparison_json(const Comparison& comparison, const std::string& file_a,
                            const std::string& file_b, const std::vector<SurfaceWear>& surfaces = {});
std::string words(Conformity verdict);  // within | outside | cannot tell

}  // namespace rondure
