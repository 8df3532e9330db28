// What is being worked on for the page, by the name the page gave it: to tell how far it is, and to stop it.
#pragma once
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "cli/bench/child.hpp"

namespace rondure::cli {

class Works {
public:
  // Work under that name for as long as the holder lives; a name in use, or none, is work nobody can ask after.
  std::shared_ptr<Work> begin(const std::string& name) {
    auto work = std::make_shared<Work>();
    const std::scoped_lock lock(mutex_);
    std::erase_if(works_, [](const auto& entry) { return entry.second.expired(); });
    if (!name.empty() && works_.size() < kMostWorks) works_.emplace(name, work);
    return work;
  }
  // Empty when there is no such work any more.
  std::shared_ptr<Work> find(const std::string& name) {
    const std::scoped_lock lock(mutex_);
    const auto at = works_.find(name);
    return at == works_.end() ? nullptr : at->second.lock();
  }

private:
  static constexpr std::size_t kMostWorks = 200;  // that can be asked after at once: bounds the memory
  std::mutex mutex_;
  std::map<std::string, std::weak_ptr<Work>> works_;
};

}  // namespace rondure::cli
