#include "cli/bench/gate.hpp"

#include <sys/random.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <string_view>

namespace rondure::cli {
namespace {

// The value of one cookie in "a=1; name=...; b=2".
std::string cookie_value(std::string_view header, const std::string& name) {
  while (!header.empty()) {
    const auto end = std::min(header.find(';'), header.size());
    std::string_view pair = header.substr(0, end);
    while (!pair.empty() && pair.front() == ' ') pair.remove_prefix(1);
    if (pair.starts_with(name + "=")) return std::string(pair.substr(name.size() + 1));
    header.remove_prefix(std::min(end + 1, header.size()));
  }
  return {};
}

// Every character is looked at: the time taken tells nothing of where the first difference is.
bool same(const std::string& a, const std::string& b) {
  if (a.size() != b.size() || a.empty()) return false;
  unsigned char difference = 0;
  for (std::size_t i = 0; i < a.size(); ++i) difference |= static_cast<unsigned char>(a[i] ^ b[i]);
  return difference == 0;
}

}  // namespace

std::string random_key() {
  std::array<unsigned char, 16> bytes{};
  if (::getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) std::abort();
  std::string text;
  for (const unsigned char byte : bytes) {
    text += "0123456789abcdef"[byte >> 4];
    text += "0123456789abcdef"[byte & 15];
  }
  return text;
}

const Gate::Known* Gate::known(const Caller& caller) const {
  const std::string cookie = cookie_value(caller.cookie, cookie_name_);
  const Known* found = nullptr;
  for (const Known& one : known_)
    if (same(one.cookie, cookie)) found = &one;
  return found;
}

Entry Gate::judge(const Caller& caller) const {
  if (std::ranges::find(hosts_, caller.host) == hosts_.end()) return Entry::kForeignHost;
  const std::scoped_lock lock(mutex_);
  if (!known(caller)) {
    const bool brings_key = caller.method == "GET" && caller.path == "/" && same(caller.key, key_);
    return brings_key ? Entry::kNewDevice : Entry::kUnknown;
  }
  if (caller.method != "GET") {
    if (caller.origin != scheme_ + "://" + caller.host) return Entry::kForeignPage;
    const auto& type = caller.content_type;
    if (type != "application/json" && !type.starts_with("image/")) return Entry::kWrongContent;
  }
  return Entry::kWelcome;
}

std::string Gate::admit(const Caller& caller, const std::string& now) {
  const std::scoped_lock lock(mutex_);
  if (!same(caller.key, key_)) return {};
  key_ = random_key();
  known_.push_back({random_key(), {++last_number_, caller.device.substr(0, 160), now, false}});
  return known_.back().cookie;
}

std::vector<Device> Gate::devices(const Caller& asking) const {
  const std::scoped_lock lock(mutex_);
  const Known* self = known(asking);
  std::vector<Device> all;
  for (const Known& one : known_) {
    all.push_back(one.device);
    all.back().asking = &one == self;
  }
  return all;
}

bool Gate::dismiss(int number) {
  const std::scoped_lock lock(mutex_);
  return std::erase_if(known_, [&](const Known& one) { return one.device.number == number; }) > 0;
}

std::string Gate::next_key() const {
  const std::scoped_lock lock(mutex_);
  return key_;
}

}  // namespace rondure::cli
