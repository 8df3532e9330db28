#include "cli/bench/bounded_server.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>

namespace rondure::cli {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point then) {
  return std::chrono::duration<double>(Clock::now() - then).count();
}

// Bytes of one connection, plain or encrypted; the socket does not block. A wait ends at its deadline.
class Channel {
public:
  Channel(int socket, SSL* ssl) : socket_(socket), ssl_(ssl) {}

  // -1: cut off, closed or failed.
  ssize_t read(char* into, std::size_t size, double allowed_s) {
    return repeat(allowed_s, POLLIN, [&] {
      return ssl_ ? SSL_read(ssl_, into, int(std::min<std::size_t>(size, 1 << 30)))
                  : ::recv(socket_, into, size, 0);
    });
  }
  ssize_t write(const char* from, std::size_t size, double allowed_s) {
    return repeat(allowed_s, POLLOUT, [&] {
      return ssl_ ? SSL_write(ssl_, from, int(std::min<std::size_t>(size, 1 << 30)))
                  : ::send(socket_, from, size, MSG_NOSIGNAL);
    });
  }
  bool shake_hands(double allowed_s) {
    return !ssl_ || repeat(allowed_s, POLLIN, [&]() -> ssize_t { return SSL_accept(ssl_); }) > 0;
  }
  bool wait(short events, double allowed_s) const {
    if (ssl_ && events == POLLIN && SSL_pending(ssl_) > 0) return true;
    pollfd one{socket_, events, 0};
    return ::poll(&one, 1, std::max(0, int(1000 * allowed_s))) > 0;
  }
  int socket() const { return socket_; }

private:
  template <class Try>
  ssize_t repeat(double allowed_s, short events, const Try& once) {
    const auto begun = Clock::now();
    for (;;) {
      ERR_clear_error();
      const ssize_t n = once();
      if (n > 0 || (n == 0 && !ssl_)) return n;
      short wanted = events;
      if (ssl_) {
        const int why = SSL_get_error(ssl_, int(n));
        if (why == SSL_ERROR_ZERO_RETURN) return 0;
        if (why != SSL_ERROR_WANT_READ && why != SSL_ERROR_WANT_WRITE) return -1;
        wanted = why == SSL_ERROR_WANT_READ ? POLLIN : POLLOUT;
      } else if (errno == EINTR) {
        continue;
      } else if (errno != EAGAIN && errno != EWOULDBLOCK) {
        return -1;
      }
      const double left_s = allowed_s - seconds_since(begun);
      pollfd one{socket_, wanted, 0};
      if (left_s <= 0 || ::poll(&one, 1, std::max(1, int(1000 * left_s))) < 0) return -1;
    }
  }

  int socket_;
  SSL* ssl_;
};

// One request and its reply, within their time.
class Exchange : public httplib::Stream {
public:
  Exchange(Channel& channel, double patience_s) : channel_(channel), patience_s_(patience_s) {}

  bool begin(double idle_s) {
    if (at_ == filled_ && !channel_.wait(POLLIN, idle_s)) return false;
    begun_ = Clock::now();
    read_ = written_ = 0;
    head_ = 0, end_seen_ = 0;
    return true;
  }

  bool is_readable() const override { return at_ < filled_ || channel_.wait(POLLIN, read_left_s()); }
  bool is_writable() const override { return channel_.wait(POLLOUT, patience_s_); }
  ssize_t read(char* into, std::size_t size) override {
    if (at_ == filled_) {
      const double left_s = read_left_s();
      const ssize_t n = left_s > 0 ? channel_.read(buffer_.data(), buffer_.size(), left_s) : -1;
      if (n <= 0) return n;
      at_ = 0, filled_ = std::size_t(n);
      read_ += double(n);
    }
    const std::size_t n = std::min(size, filled_ - at_);
    std::memcpy(into, buffer_.data() + at_, n);
    at_ += n;
    return within_head(into, n) ? ssize_t(n) : -1;
  }
  ssize_t write(const char* from, std::size_t size) override {
    if (written_ == 0) writing_begun_ = Clock::now();
    const double left_s =
        patience_s_ + written_ / BoundedServer::kSlowest_bytes_per_s - seconds_since(writing_begun_);
    const ssize_t n = left_s > 0 ? channel_.write(from, size, left_s) : -1;
    if (n > 0) written_ += double(n);
    return n;
  }
  void get_remote_ip_and_port(std::string& ip, int& port) const override { name(::getpeername, ip, port); }
  void get_local_ip_and_port(std::string& ip, int& port) const override { name(::getsockname, ip, port); }
  socket_t socket() const override { return channel_.socket(); }

private:
  double read_left_s() const {
    return patience_s_ + read_ / BoundedServer::kSlowest_bytes_per_s - seconds_since(begun_);
  }
  // Counts until the empty line behind the head has gone by.
  bool within_head(const char* bytes, std::size_t n) {
    for (std::size_t i = 0; i < n && end_seen_ < 2; ++i) {
      if (bytes[i] == '\n')
        ++end_seen_;
      else if (bytes[i] != '\r')
        end_seen_ = 0;
      if (++head_ > BoundedServer::kLargestHead_bytes) return false;
    }
    return true;
  }
  template <class Get>
  void name(Get get, std::string& ip, int& port) const {
    sockaddr_in address{};
    socklen_t size = sizeof address;
    char text[INET_ADDRSTRLEN] = {};
    if (get(channel_.socket(), reinterpret_cast<sockaddr*>(&address), &size) != 0) return;
    if (::inet_ntop(AF_INET, &address.sin_addr, text, sizeof text)) ip = text;
    port = ntohs(address.sin_port);
  }

  Channel& channel_;
  double patience_s_;
  std::array<char, 16384> buffer_{};
  std::size_t at_ = 0, filled_ = 0, head_ = 0;
  int end_seen_ = 0;
  double read_ = 0, written_ = 0;
  Clock::time_point begun_ = Clock::now(), writing_begun_ = begun_;
};

}  // namespace

struct BoundedServer::Tls {
  std::unique_ptr<SSL_CTX, decltype(&SSL_CTX_free)> context{SSL_CTX_new(TLS_server_method()), &SSL_CTX_free};
};

BoundedServer::BoundedServer(double patience_s) : patience_s_(patience_s) {}
BoundedServer::~BoundedServer() = default;

Result<void> BoundedServer::encrypt(const std::string& certificate_file, const std::string& key_file) {
  auto tls = std::make_unique<Tls>();
  SSL_CTX* context = tls->context.get();
  if (!context || SSL_CTX_set_min_proto_version(context, TLS1_2_VERSION) != 1)
    return Error{ErrorCode::kFileUnreadable, "encryption is not to be had here"};
  if (SSL_CTX_use_certificate_chain_file(context, certificate_file.c_str()) != 1)
    return Error{ErrorCode::kFileUnreadable, certificate_file + " holds no certificate (PEM)"};
  if (SSL_CTX_use_PrivateKey_file(context, key_file.c_str(), SSL_FILETYPE_PEM) != 1 ||
      SSL_CTX_check_private_key(context) != 1)
    return Error{ErrorCode::kFileUnreadable, key_file + " holds no key (PEM) of that certificate"};
  tls_ = std::move(tls);
  return {};
}

bool BoundedServer::process_and_close_socket(socket_t socket) {
  ::fcntl(socket, F_SETFL, ::fcntl(socket, F_GETFL) | O_NONBLOCK);
  {
    const std::unique_ptr<SSL, decltype(&SSL_free)> ssl(tls_ ? SSL_new(tls_->context.get()) : nullptr,
                                                        &SSL_free);
    if (ssl) SSL_set_fd(ssl.get(), socket);
    Channel channel(socket, ssl.get());
    if (channel.shake_hands(patience_s_)) {
      Exchange exchange(channel, patience_s_);
      for (std::size_t left = keep_alive_max_count_; left > 0 && exchange.begin(kIdle_s); --left) {
        bool closed = false;
        if (!process_request(exchange, left == 1, closed, nullptr) || closed) break;
      }
      if (ssl) SSL_shutdown(ssl.get());
    }
  }
  ::shutdown(socket, SHUT_RDWR);
  ::close(socket);
  return true;
}

}  // namespace rondure::cli
