// The page at the bench as a process, and raw requests to it. Header only.
#pragma once
#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstring>
#include <filesystem>
#include <stdexcept>
#include <string>
#include <vector>

struct HttpReply {
  int status = 0;  // 0: the connection was closed without a word
  std::string head, body;
};

class BenchServer {
public:
  explicit BenchServer(const std::string& folder, std::vector<std::string> more = {}) {
    int out[2];
    if (pipe2(out, O_CLOEXEC)) throw std::runtime_error("pipe");
    const std::string program = std::filesystem::absolute(RONDURE_PROGRAM).string();
    std::vector<std::string> arguments{program, "bench", folder};
    arguments.insert(arguments.end(), more.begin(), more.end());
    std::vector<char*> argv;
    for (auto& argument : arguments) argv.push_back(argument.data());
    argv.push_back(nullptr);
    child_ = fork();
    if (child_ == 0) {
      dup2(out[1], 1);
      execv(argv[0], argv.data());
      _exit(127);
    }
    close(out[1]);
    from_ = out[0];
    const std::string line = next_line();
    const auto at = line.find("http");
    if (at == std::string::npos) throw std::runtime_error("no address in: " + line);
    address_ = line.substr(at);
    const auto colon = address_.rfind(':'), begin = address_.find("//") + 2,
               slash = address_.find('/', begin);
    host_ = address_.substr(begin, slash - begin);
    port_ = std::stoi(address_.substr(colon + 1));
    key_ = address_.substr(address_.find("key=") + 4);
  }
  ~BenchServer() {
    end(SIGKILL);
    close(from_);
  }
  BenchServer(const BenchServer&) = delete;
  BenchServer& operator=(const BenchServer&) = delete;

  // The wait status; -1 when it has ended before.
  int end(int signal) {
    if (child_ <= 0) return -1;
    kill(child_, signal);
    int status = 0;
    waitpid(child_, &status, 0);
    child_ = -1;
    return status;
  }

  pid_t process() const { return child_; }
  const std::string& host() const { return host_; }
  const std::string& key() const { return key_; }
  const std::string& address() const { return address_; }

  // Comes in with a key, the first unless said, and keeps the cookie.
  HttpReply pair(const std::string& with = "") {
    HttpReply reply = raw("GET /?key=" + (with.empty() ? key_ : with) + " HTTP/1.1\r\nHost: " + host_ +
                          "\r\nConnection: close\r\n\r\n");
    const std::string mark = "Set-Cookie: ";
    if (const auto at = reply.head.find(mark); at != std::string::npos)
      cookie_ = reply.head.substr(at + mark.size(), reply.head.find(';', at) - at - mark.size());
    return reply;
  }
  const std::string& cookie() const { return cookie_; }

  HttpReply get(const std::string& target) const {
    return raw("GET " + target + " HTTP/1.1\r\nHost: " + host_ + "\r\nCookie: " + cookie_ +
               "\r\nConnection: close\r\n\r\n");
  }
  HttpReply post(const std::string& target, const std::string& body,
                 const std::string& type = "application/json") const {
    return raw("POST " + target + " HTTP/1.1\r\nHost: " + host_ + "\r\nCookie: " + cookie_ +
               "\r\nOrigin: http://" + host_ + "\r\nContent-Type: " + type +
               "\r\nContent-Length: " + std::to_string(body.size()) + "\r\nConnection: close\r\n\r\n" + body);
  }

  // One byte each so many milliseconds; how many were taken before the connection was closed.
  int drip(const std::string& bytes, int pause_ms, int most) const {
    const int to = connected();
    int sent = 0;
    for (; sent < most && sent < int(bytes.size()); ++sent) {
      char none;
      const ssize_t heard = recv(to, &none, 1, MSG_DONTWAIT);
      if (heard == 0 || (heard < 0 && errno != EAGAIN)) break;
      if (heard > 0 || send(to, &bytes[std::size_t(sent)], 1, MSG_NOSIGNAL) <= 0) break;
      usleep(useconds_t(pause_ms) * 1000);
    }
    close(to);
    return sent;
  }

  // Bytes as they are, then everything that comes back; `half_close`: nothing more will be sent.
  HttpReply raw(const std::string& bytes, bool half_close = false) const {
    const int to = connected();
    for (std::size_t sent = 0; sent < bytes.size();) {
      const ssize_t n = send(to, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL);
      if (n <= 0) break;
      sent += std::size_t(n);
    }
    if (half_close) shutdown(to, SHUT_WR);
    std::string all;
    char block[65536];
    for (ssize_t n; (n = recv(to, block, sizeof block, 0)) > 0;) all.append(block, std::size_t(n));
    close(to);
    HttpReply reply;
    const auto middle = all.find("\r\n\r\n");
    reply.head = all.substr(0, middle);
    if (middle != std::string::npos) reply.body = all.substr(middle + 4);
    if (all.size() > 12 && all.starts_with("HTTP/1.")) reply.status = std::stoi(all.substr(9, 3));
    return reply;
  }

private:
  int connected() const {
    const int to = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port_));
    inet_pton(AF_INET, "127.0.0.1", &address.sin_addr);
    if (connect(to, reinterpret_cast<sockaddr*>(&address), sizeof address)) {
      close(to);
      throw std::runtime_error("the server does not listen");
    }
    return to;
  }
  std::string next_line() {
    std::string line;
    for (char c; read(from_, &c, 1) == 1 && c != '\n';) line += c;
    return line;
  }

  pid_t child_ = -1;
  int from_ = -1, port_ = 0;
  std::string address_, host_, key_, cookie_;
};
