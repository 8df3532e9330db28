#include "keep_unknown.hpp"

#include <vector>

namespace rondure::record {
namespace {

bool same_element(const Json& a, const Json& b) {
  if (!a.is_object() || !b.is_object()) return a == b;
  for (const char* key : {"name", "label", "upr", "source", "what"})
    if (const auto at = a.find(key); at != a.end() && b.contains(key)) return *at == b[key];
  return a == b;
}

void keep_in_list(const Json& was, const Json& understood, Json& now) {
  if (was.size() != understood.size()) return;  // read differently: nothing can be matched
  std::vector<bool> taken(was.size(), false);
  for (Json& element : now)
    for (std::size_t i = 0; i < was.size(); ++i)
      if (!taken[i] && same_element(understood[i], element)) {
        taken[i] = true;
        keep_unknown(was[i], understood[i], element);
        break;
      }
}

}  // namespace

void keep_unknown(const Json& was, const Json& understood, Json& now) {
  if (was.is_array() && understood.is_array() && now.is_array()) return keep_in_list(was, understood, now);
  if (!was.is_object() || !understood.is_object() || !now.is_object()) return;
  for (const auto& [key, value] : was.items()) {
    if (value.is_null()) continue;
    const auto known = understood.find(key);
    const auto at = now.find(key);
    if (at != now.end()) {
      keep_unknown(value, known == understood.end() ? Json::object() : *known, *at);
    } else if (known == understood.end()) {
      now[key] = value;
    }
  }
}

}  // namespace rondure::record
