#include "json/object.hpp"

#include <cstdio>
#include <limits>

#include "json/field_list.hpp"

namespace rondure::json {

std::string range_text(double lo, double hi) {
  char text[80];
  std::snprintf(text, sizeof text, "a number from %g to %g", lo, hi);
  return text;
}

std::string excerpt(const Json& value) {
  if (value.is_object()) return "an object";
  if (value.is_array()) return "an array of " + std::to_string(value.size());
  const std::string text = value.dump(-1, ' ', false, Json::error_handler_t::replace);
  return text.size() <= 40 ? text : text.substr(0, 37) + "...";
}

double number_in(const Json& value, const std::string& pointer) {
  if (!value.is_number()) throw Damage{pointer, "found " + excerpt(value) + ", needed a number"};
  const double number = value.get<double>();
  if (!std::isfinite(number)) throw Damage{pointer, "needed a finite number"};
  return number;
}

int integer_in(const Json& value, const std::string& pointer) {
  const double number = number_in(value, pointer);
  if (number != std::floor(number) || std::abs(number) > std::numeric_limits<int>::max())
    throw Damage{pointer, "found " + excerpt(value) + ", needed a whole number"};
  return static_cast<int>(number);
}

Object::Object(const Json& value, std::string pointer) : value_(value), pointer_(std::move(pointer)) {
  if (!value.is_object()) throw Damage{pointer_, "found " + excerpt(value) + ", needed an object"};
}

const Json* Object::find(const char* key) const {
  const auto at = value_.find(key);
  return at == value_.end() || at->is_null() ? nullptr : &*at;
}

void Object::refuse(const char* key, const std::string& needed) const {
  const Json* found = find(key);
  throw Damage{found ? pointer_to(key) : pointer_,
               (found ? "found " + excerpt(*found) : std::string("found nothing")) + ", needed " + needed};
}

std::optional<double> Object::number(const char* key) const {
  const Json* found = find(key);
  if (!found) return std::nullopt;
  return number_in(*found, pointer_to(key));
}

double Object::needed_number(const char* key) const {
  const auto value = number(key);
  if (!value) refuse(key, std::string("a number '") + key + "'");
  return *value;
}

std::optional<int> Object::integer(const char* key) const {
  const Json* found = find(key);
  if (!found) return std::nullopt;
  return integer_in(*found, pointer_to(key));
}

std::optional<bool> Object::flag(const char* key) const {
  const Json* found = find(key);
  if (!found) return std::nullopt;
  if (!found->is_boolean()) refuse(key, "true or false");
  return found->get<bool>();
}

std::string Object::text(const char* key) const {
  const Json* found = find(key);
  if (!found) return {};
  if (!found->is_string()) refuse(key, "a text");
  return found->get<std::string>();
}

std::optional<Interval> Object::interval(const char* key) const {
  const Json* found = array_at(key);
  if (!found) return std::nullopt;
  if (found->size() != 2) refuse(key, "two numbers [low, high]");
  const Interval interval{number_in((*found)[0], pointer_to(key) + "/0"),
                          number_in((*found)[1], pointer_to(key) + "/1")};
  if (interval.lo > interval.hi) refuse(key, "the lower limit first");
  return interval;
}

std::optional<PartPoint> Object::point(const char* key) const {
  const Json* found = array_at(key);
  if (!found) return std::nullopt;
  if (found->size() != 2) refuse(key, "two numbers [x, y]");
  return PartPoint{number_in((*found)[0], pointer_to(key) + "/0"),
                   number_in((*found)[1], pointer_to(key) + "/1")};
}

std::optional<Object> Object::object(const char* key) const {
  const Json* found = find(key);
  if (!found) return std::nullopt;
  return Object(*found, pointer_to(key));
}

const Json* Object::array_at(const char* key) const {
  const Json* found = find(key);
  if (found && !found->is_array()) refuse(key, "an array");
  return found;
}

}  // namespace rondure::json
