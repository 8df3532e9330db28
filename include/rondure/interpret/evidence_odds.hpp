// The odds against evidence, from its chance.
#pragma once
#include <string>

namespace rondure {

// "about 250 to 1", "more than 1,000,000 to 1": against what the measured sizes alone meet with this chance, (0, 1].
std::string odds_against(double chance);

}  // namespace rondure
