// Reading and writing JSON objects: absent values are absent, a wrong value says where it stands.
#pragma once
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "rondure/core/geometry.hpp"

namespace rondure::json {

using Json = nlohmann::ordered_json;

// A value that cannot be what it should be. Thrown while reading, caught where the document was opened.
struct Damage {
  std::string pointer;  // JSON pointer: "/features/0/circle/diameter_mm"
  std::string what;     // "found \"abc\", needed a number"
};

// What stands there, shortened, for messages.
std::string excerpt(const Json& value);

// One object of the document. Keys that are missing or null are absent.
class Object {
public:
  Object(const Json& value, std::string pointer);

  std::optional<double> number(const char* key) const;
  double needed_number(const char* key) const;
  std::optional<int> integer(const char* key) const;
  std::optional<bool> flag(const char* key) const;
  std::string text(const char* key) const;  // empty when absent
  std::optional<Interval> interval(const char* key) const;
  std::optional<PartPoint> point(const char* key) const;
  std::optional<Object> object(const char* key) const;
  // Calls read(Object) for every element of the array at key.
  template <class Read>
  void each(const char* key, Read read) const {
    const Json* array = array_at(key);
    if (!array) return;
    for (std::size_t i = 0; i < array->size(); ++i)
      read(Object((*array)[i], pointer_ + "/" + key + "/" + std::to_string(i)));
  }
  // The array at key as it stands; null when absent.
  const Json* array_at(const char* key) const;
  const Json* find(const char* key) const;
  std::string pointer_to(const char* key) const { return pointer_ + "/" + key; }
  [[noreturn]] void refuse(const char* key, const std::string& needed) const;

private:
  const Json& value_;
  std::string pointer_;
};

double number_in(const Json& value, const std::string& pointer);
int integer_in(const Json& value, const std::string& pointer);

// Writing: a value that is absent or not finite leaves no key.
inline void put(Json& into, const char* key, double value) {
  if (std::isfinite(value)) into[key] = value;
}
inline void put(Json& into, const char* key, const std::optional<double>& value) {
  if (value) put(into, key, *value);
}
inline void put(Json& into, const char* key, const std::string& value) {
  if (!value.empty()) into[key] = value;
}
inline void put(Json& into, const char* key, const PartPoint& p) {
  if (std::isfinite(p.x_mm) && std::isfinite(p.y_mm)) into[key] = {p.x_mm, p.y_mm};
}
inline void put(Json& into, const char* key, const Interval& i) {
  if (std::isfinite(i.lo) && std::isfinite(i.hi)) into[key] = {i.lo, i.hi};
}
inline void put(Json& into, const char* key, const std::optional<Interval>& i) {
  if (i) put(into, key, *i);
}
inline void put(Json& into, const char* key, Json value) {
  if (!value.empty()) into[key] = std::move(value);
}

}  // namespace rondure::json
