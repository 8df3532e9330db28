// The page at the bench over HTTP/1.1: listens, lets in whom the gate lets in, and hands questions to the service.
#pragma once
#include <functional>
#include <string>

#include "service.hpp"

namespace rondure::cli {

struct ServerOptions {
  bool lan = false;  // else the loopback address alone
  int port = 0;      // 0 = any free one
  // Told the address of the page each time a device may come in by a new key.
  std::function<void(const std::string& address)> announce;
};

// Until a signal (Ctrl-C, SIGTERM) ends it. Errors: kFileUnwritable (the port is taken).
Result<void> serve(BenchService& service, const ServerOptions& options);

}  // namespace rondure::cli
