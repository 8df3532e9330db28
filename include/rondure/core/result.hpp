// The outcome of anything that can fail on ordinary data: a value, or an Error that says what was found and
// what was needed. Same member names as std::expected (C++23), to be swapped for it later.
#pragma once
#include <cassert>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>

namespace rondure {

// One code for each kind of failure. `sentence(code)` gives the words a user reads.
enum class ErrorCode {
  kBadArgument,          // an option or argument that cannot be meant
  kBadLength,            // text that is not a length ("12,7 mn")
  kFileMissing,          // no such file
  kFileUnreadable,       // exists, cannot be read
  kFileUnwritable,       // output cannot be written
  kFileDamaged,          // the file's own format is broken (record, calibration)
  kFileLocked,           // somebody else is writing it
  kBadLine,              // a line of a readings file that cannot be understood
  kMixedUnits,           // one file, two units
  kNotFinite,            // NaN or infinity in the input
  kTooFewPoints,         // fewer distinct points than the model has unknowns
  kCollinear,            // points on a straight line: no circle
  kRadiusUndetermined,   // curvature interval reaches zero
  kNoEllipse,            // no ellipse has a least sum of squares for these points
  kArcTooShort,          // the visible arc cannot carry what was asked
  kNotAPicture,          // the file is no picture we can decode
  kPictureSize,          // 0 pixels, or more than 500 megapixels
  kNoRoundEdge,          // nothing round in the picture
  kNoBoard,              // no chessboard found
  kBoardMismatch,        // a chessboard of another size
  kBadCalibration,       // calibration cannot be computed or is implausible
  kCalibrationMismatch,  // calibration made for another picture size or camera
  kNoAnswer,             // an inference without enough to go on
};

// The fixed part of the message, e.g. "too few points".
std::string_view sentence(ErrorCode code);

struct Error {
  ErrorCode code;
  std::string detail;  // what was found and what was needed, in the user's words
  // One line: sentence, colon, detail.
  std::string message() const;
};

template <class T>
class [[nodiscard]] Result {
public:
  using value_type = T;
  Result(T value) : state_(std::in_place_index<0>, std::move(value)) {}
  Result(Error error) : state_(std::in_place_index<1>, std::move(error)) {}

  bool has_value() const { return state_.index() == 0; }
  explicit operator bool() const { return has_value(); }
  T& value() & { return assert(has_value()), std::get<0>(state_); }
  const T& value() const& { return assert(has_value()), std::get<0>(state_); }
  T&& value() && { return assert(has_value()), std::get<0>(std::move(state_)); }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T&& operator*() && { return std::move(*this).value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }
  const Error& error() const { return assert(!has_value()), std::get<1>(state_); }
  template <class U>
  T value_or(U&& fallback) const& {
    return has_value() ? value() : static_cast<T>(std::forward<U>(fallback));
  }

private:
  std::variant<T, Error> state_;
};

// Success without a value.
template <>
class [[nodiscard]] Result<void> {
public:
  Result() = default;
  Result(Error error) : error_(std::move(error)) {}
  bool has_value() const { return !error_; }
  explicit operator bool() const { return has_value(); }
  const Error& error() const { return assert(error_), *error_; }

private:
  std::optional<Error> error_;
};

}  // namespace rondure
