// An HTTP server of the library whose connections cannot be held for ever, plain or encrypted.
//
// The library bounds each wait for a byte, not their sum: one byte every few seconds keeps a thread for hours. Here a
// request has to arrive, and a reply to be taken, within a patience of some seconds plus the time that its bytes take at
// kSlowest_bytes_per_s; the head of a request ends within kLargestHead_bytes. Who is slower is cut off.
#pragma once
#include <httplib.h>
#undef _res  // a macro of <resolv.h>, a name in Eigen's headers

#include <memory>
#include <string>

#include "rondure/core/result.hpp"

namespace rondure::cli {

class BoundedServer : public httplib::Server {
public:
  // By judgement: a weak wireless is quicker, and a browser's head of a request has a few kilobytes.
  static constexpr double kPatience_s = 10, kIdle_s = 5, kSlowest_bytes_per_s = 32 * 1024;
  static constexpr std::size_t kLargestHead_bytes = 64 * 1024;

  explicit BoundedServer(double patience_s = kPatience_s);
  ~BoundedServer() override;
  // From now on encrypted (TLS 1.2 or newer). Errors: kFileUnreadable (no certificate or key, or they do not match).
  Result<void> encrypt(const std::string& certificate_file, const std::string& key_file);

private:
  bool process_and_close_socket(socket_t socket) override;

  struct Tls;
  std::unique_ptr<Tls> tls_;
  double patience_s_;
};

}  // namespace rondure::cli
