// The page at the bench over HTTP/1.1: listens, lets in whom the gate lets in, and hands questions to the service.
#pragma once
#include <functional>
#include <string>

#include "cli/bench/service.hpp"

namespace rondure::cli {

struct ServerOptions {
  bool lan = false;                        // else the loopback address alone
  int port = 0;                            // 0 = any free one
  std::string name;                        // under which other devices know this computer; empty: its address
  std::string certificate_file, key_file;  // PEM; empty: not encrypted
  double patience_s = 10;                  // for a request to arrive, and a reply to be taken
  // Told the address of the page each time a device may come in by a new key.
  std::function<void(const std::string& address)> announce;
};

// Until a signal (Ctrl-C, SIGTERM) ends it. Errors: kFileUnwritable (the port is taken), those of BoundedServer::encrypt.
Result<void> serve(BenchService& service, const ServerOptions& options);

}  // namespace rondure::cli
