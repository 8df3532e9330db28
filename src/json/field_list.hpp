// One list of fields a type that both writes and reads it:
//
//   struct PieceFields {
//     template <class Io>
//     static void list(Io& io, Piece& v) {
//       io.needed("diameter_mm", v.diameter_mm);
//       io("u_diameter_mm", v.u_diameter_mm);
//     }
//   };
//   Json written = Writer<PieceFields>::object(piece);
//   Piece read = Reader<PieceFields>::read<Piece>(object);
//
// A number with a range is refused outside it when read. `holds` says, for several fields that stand or miss together,
// whether they do: by the value when writing, by the key when reading.
//
// Writing: a value that is absent, empty or not finite leaves no key; an object whose needed number is not finite is
// left out as a whole, so that what is written can be read. Reading: a key that is missing or null leaves the value
// as it is; a value that cannot be what it should be throws Damage with its place; unknown keys are skipped.
// Fields come in the order of the list.
#pragma once
#include <Eigen/Core>
#include <array>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "json/object.hpp"
#include "rondure/core/feature_kind.hpp"

namespace rondure::json {

template <class T>
concept Number = std::is_same_v<T, double> || std::is_same_v<T, int>;

std::string range_text(double lo, double hi);  // "a number from 0 to 1"

template <class Fields>
class Writer {
public:
  static constexpr bool kReads = false;

  template <class T>
  static Json object(const T& value) {
    Writer inner;
    Fields::list(inner, const_cast<T&>(value));  // writing changes nothing
    return inner.whole_ ? std::move(inner.out_) : Json();
  }
  template <class T>
  static Json objects(const std::vector<T>& values) {
    Json list = Json::array();
    for (const T& value : values)
      if (Json one = object(value); !one.is_null()) list.push_back(std::move(one));
    return list;
  }

  void needed(const char* key, const double& v) { when(std::isfinite(v)), put(out_, key, v); }
  template <Number N>
  void needed(const char* key, const N& v, double /*lo*/, double /*hi*/) {
    (*this)(key, v);
  }
  template <class T>
  void needed(const char* key, const T& v) {
    out_[key] = object(v);
  }
  template <Number N>
  void operator()(const char* key, const N& v, double /*lo*/, double /*hi*/) {
    (*this)(key, v);
  }
  bool holds(const char* /*key*/, bool value_holds) const { return value_holds; }
  // A square matrix as a list of its rows.
  template <class Matrix>
  void matrix(const char* key, const Matrix& m, Eigen::Index /*size*/) {
    Json rows = Json::array();
    for (Eigen::Index r = 0; r < m.rows(); ++r) {
      Json row = Json::array();
      for (Eigen::Index c = 0; c < m.cols(); ++c) row.push_back(m(r, c));
      rows.push_back(std::move(row));
    }
    out_[key] = std::move(rows);
  }
  void whole(const char* key, const int& v, int /*least*/) { out_[key] = v; }
  void refuse(const char*, const char*) {}  // a reader's business
  // The object is written only when this holds.
  void when(bool holds) { whole_ = whole_ && holds; }
  // Written only when it differs from the usual.
  void unless(const char* key, const bool& v, bool usual) {
    if (v != usual) out_[key] = v;
  }
  void unless(const char* key, const double& v, double usual, double /*lo*/, double /*hi*/) {
    if (v != usual) put(out_, key, v);
  }
  // Written even when empty.
  void always(const char* key, const std::string& v) { out_[key] = v; }
  void always(const char* key, const std::vector<std::string>& v) { out_[key] = v; }
  template <class T>
  void always(const char* key, const std::vector<T>& v) {
    out_[key] = objects(v);
  }
  // An object whose fields another list has.
  template <class T, class To, class From>
  void section(const char* key, const T& v, To to, From) {
    out_[key] = to(v);
  }
  // A value that stands as a word in the file: `to` gives the word, `from` the value.
  template <class T, class To, class From>
  void word(const char* key, const T& v, To to, From, const char* = nullptr) {
    put(out_, key, std::string(to(v)));
  }

  template <class T, class To, class From>
  void needed_word(const char* key, const T& v, To to, From, const char*) {
    out_[key] = std::string(to(v));
  }
  // Two-vectors as a list of pairs, written even when empty; `needed` says what a pair is.
  template <class Vector>
  void pairs(const char* key, const std::vector<Vector>& v, const char*) {
    Json list = Json::array();
    for (const Vector& p : v)
      if (p.allFinite()) list.push_back({p.x(), p.y()});
    out_[key] = std::move(list);
  }

  void operator()(const char* key, const double& v) { put(out_, key, v); }
  void operator()(const char* key, const int& v) { out_[key] = v; }
  void operator()(const char* key, const bool& v) { out_[key] = v; }
  void operator()(const char* key, const std::string& v) { put(out_, key, v); }
  void operator()(const char* key, const FeatureKind& v) { put(out_, key, std::string(v.word())); }
  void operator()(const char* key, const PartPoint& v) { put(out_, key, v); }
  void operator()(const char* key, const Interval& v) { put(out_, key, v); }
  void operator()(const char* key, const std::vector<std::string>& v) { put(out_, key, Json(v)); }
  void operator()(const char* key, const std::vector<int>& v) { put(out_, key, Json(v)); }
  template <std::size_t n>
  void operator()(const char* key, const std::array<double, n>& v) {
    for (const double x : v)
      if (!std::isfinite(x)) return;
    out_[key] = v;
  }
  template <class T>
  void operator()(const char* key, const std::optional<T>& v) {
    if (v) (*this)(key, *v);
  }
  template <class T>
  void operator()(const char* key, const std::vector<T>& v) {
    put(out_, key, objects(v));
  }
  template <class T>
  void operator()(const char* key, const T& v) {
    put(out_, key, object(v));
  }

private:
  Json out_ = Json::object();
  bool whole_ = true;
};

template <class Fields>
class Reader {
public:
  static constexpr bool kReads = true;

  template <class T>
  static T read(const Object& object) {
    T value{};
    Reader inner(object);
    Fields::list(inner, value);
    return value;
  }

  void needed(const char* key, double& v) const { v = in_.needed_number(key); }
  template <Number N>
  void needed(const char* key, N& v, double lo, double hi) const {
    const double number = in_.needed_number(key);
    if (!(number >= lo && number <= hi)) in_.refuse(key, range_text(lo, hi));
    (*this)(key, v);
  }
  template <class T>
  void needed(const char* key, T& v) const {
    if (!in_.find(key)) in_.refuse(key, std::string("an object '") + key + "'");
    (*this)(key, v);
  }
  template <Number N>
  void operator()(const char* key, N& v, double lo, double hi) const {
    if (in_.find(key)) needed(key, v, lo, hi);
  }
  bool holds(const char* key, bool) const { return in_.find(key) != nullptr; }
  template <class Matrix>
  void matrix(const char* key, Matrix& m, Eigen::Index size) const {
    const std::string side = std::to_string(size), rows_needed = side + " rows of " + side + " numbers";
    const Json* rows = in_.array_at(key);
    if (!rows || rows->size() != static_cast<std::size_t>(size)) in_.refuse(key, rows_needed);
    m.resize(size, size);
    for (Eigen::Index r = 0; r < size; ++r) {
      const Json& row = (*rows)[static_cast<std::size_t>(r)];
      if (!row.is_array() || row.size() != static_cast<std::size_t>(size)) in_.refuse(key, rows_needed);
      for (Eigen::Index c = 0; c < size; ++c)
        m(r, c) = number_in(row[static_cast<std::size_t>(c)],
                            in_.pointer_to(key) + "/" + std::to_string(r) + "/" + std::to_string(c));
    }
  }
  // A whole number of at least so much.
  void whole(const char* key, int& v, int least) const {
    v = in_.integer(key).value_or(least - 1);
    if (v < least)
      in_.refuse(key, std::string("a whole number '") + key + "' of " + std::to_string(least) + " or more");
  }
  [[noreturn]] void refuse(const char* key, const char* needed) const { in_.refuse(key, needed); }
  void when(bool) const {}
  void unless(const char* key, bool& v, bool) const { (*this)(key, v); }
  void unless(const char* key, double& v, double, double lo, double hi) const { (*this)(key, v, lo, hi); }
  void always(const char* key, std::string& v) const { (*this)(key, v); }
  void always(const char* key, std::vector<std::string>& v) const { (*this)(key, v); }
  template <class T>
  void always(const char* key, std::vector<T>& v) const {
    (*this)(key, v);
  }
  template <class T, class To, class From>
  void section(const char* key, T& v, To, From from) const {
    if (const auto inside = in_.object(key)) v = from(*inside);
  }
  template <class T, class To, class From>
  void word(const char* key, T& v, To, From from, const char* needed = nullptr) const {
    if (!in_.find(key)) return;
    const auto value = from(in_.text(key));
    if constexpr (std::is_convertible_v<decltype(value), T>) {
      v = value;
    } else {  // an optional: nothing for a word that is none
      if (!value && needed) in_.refuse(key, needed);
      if (value) v = *value;
    }
  }

  template <class T, class To, class From>
  void needed_word(const char* key, T& v, To, From from, const char* needed) const {
    const auto value = from(in_.text(key));
    if (!value) in_.refuse(key, needed);
    v = *value;
  }
  template <class Vector>
  void pairs(const char* key, std::vector<Vector>& v, const char* needed) const {
    const Json* list = in_.array_at(key);
    for (std::size_t i = 0; list && i < list->size(); ++i) {
      const Json& pair = (*list)[i];
      const std::string at = in_.pointer_to(key) + "/" + std::to_string(i);
      if (!pair.is_array() || pair.size() != 2)
        throw Damage{at, std::string("found no pair, needed ") + needed};
      v.emplace_back(number_in(pair[0], at + "/0"), number_in(pair[1], at + "/1"));
    }
  }

  void operator()(const char* key, double& v) const { v = in_.number(key).value_or(v); }
  void operator()(const char* key, int& v) const { v = in_.integer(key).value_or(v); }
  void operator()(const char* key, bool& v) const { v = in_.flag(key).value_or(v); }
  void operator()(const char* key, std::string& v) const {
    if (in_.find(key)) v = in_.text(key);
  }
  void operator()(const char* key, FeatureKind& v) const {
    if (in_.find(key)) v = FeatureKind::from_record(in_.text(key));
  }
  void operator()(const char* key, PartPoint& v) const { v = in_.point(key).value_or(v); }
  void operator()(const char* key, Interval& v) const { v = in_.interval(key).value_or(v); }
  void operator()(const char* key, std::vector<std::string>& v) const {
    if (const Json* list = in_.array_at(key))
      for (const Json& one : *list)
        v.push_back(one.is_string() ? one.get<std::string>() : (in_.refuse(key, "a list of texts"), ""));
  }
  void operator()(const char* key, std::vector<int>& v) const {
    if (const Json* list = in_.array_at(key))
      for (std::size_t i = 0; i < list->size(); ++i)
        v.push_back(integer_in((*list)[i], in_.pointer_to(key) + "/" + std::to_string(i)));
  }
  template <std::size_t n>
  void operator()(const char* key, std::array<double, n>& v) const {
    const Json* list = in_.array_at(key);
    if (!list) return;
    if (list->size() != n) in_.refuse(key, std::to_string(n) + " numbers");
    for (std::size_t i = 0; i < n; ++i)
      v[i] = number_in((*list)[i], in_.pointer_to(key) + "/" + std::to_string(i));
  }
  template <class T>
  void operator()(const char* key, std::optional<T>& v) const {
    if (!in_.find(key)) return;
    v.emplace();
    (*this)(key, *v);
  }
  template <class T>
  void operator()(const char* key, std::vector<T>& v) const {
    in_.each(key, [&](const Object& one) { v.push_back(read<T>(one)); });
  }
  template <class T>
  void operator()(const char* key, T& v) const {
    if (const auto inside = in_.object(key)) {
      Reader inner(*inside);
      Fields::list(inner, v);
    }
  }

private:
  explicit Reader(const Object& object) : in_(object) {}
  Object in_;
};

}  // namespace rondure::json
