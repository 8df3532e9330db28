#include "cli/bench/server.hpp"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <signal.h>

#include <chrono>
#include <thread>

#include "cli/bench/answers.hpp"
#include "cli/bench/bounded_server.hpp"
#include "cli/bench/gate.hpp"
#include "cli/terminal/command.hpp"
#include "rondure/core/builtin_data.hpp"

namespace rondure::cli {
namespace {

constexpr std::size_t kLargestUpload = std::size_t(80) << 20;  // bytes: any camera's JPEG, most raw files
constexpr int kThreads = 24;  // most wait for a child that measures or for who is slow; by judgement

// Nothing from outside, no script in the page's text, in nobody's frame.
constexpr const char* kPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src "
    "'self'; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'none'";
constexpr const char* kReportPolicy =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none'; base-uri 'none'; "
    "frame-ancestors 'none'";

// The first address of this machine that others on its network can reach.
std::string lan_address() {
  ifaddrs* all = nullptr;
  if (::getifaddrs(&all) != 0) return {};
  std::string found;
  for (const ifaddrs* i = all; i && found.empty(); i = i->ifa_next) {
    if (!i->ifa_addr || i->ifa_addr->sa_family != AF_INET || (i->ifa_flags & IFF_LOOPBACK)) continue;
    char text[INET_ADDRSTRLEN] = {};
    const auto* address = reinterpret_cast<const sockaddr_in*>(i->ifa_addr);
    if (::inet_ntop(AF_INET, &address->sin_addr, text, sizeof text)) found = text;
  }
  ::freeifaddrs(all);
  return found;
}

Caller caller_of(const httplib::Request& request) {
  Caller caller{request.method,
                request.path,
                request.get_header_value("Host"),
                request.get_header_value("Origin"),
                request.get_header_value("Cookie"),
                request.get_header_value("Content-Type"),
                request.get_param_value("key"),
                request.get_header_value("User-Agent")};
  if (request.get_header_value_count("Host") != 1) caller.host.clear();
  return caller;
}

void say(httplib::Response& response, int status, const std::string& words) {
  response.status = status;
  response.set_content(words + "\n", "text/plain; charset=utf-8");
}

// True when the request has been answered here.
bool turned_away(Entry entry, httplib::Response& response) {
  switch (entry) {
    case Entry::kWelcome:
    case Entry::kNewDevice:
      return false;
    case Entry::kUnknown:
      say(response, 403, "Open the address that 'rondure bench' has printed: it holds the key.");
      return true;
    case Entry::kForeignHost:
      say(response, 421, "This page is not served under that name.");
      return true;
    case Entry::kForeignPage:
      say(response, 403, "Only this page's own requests change anything.");
      return true;
    case Entry::kWrongContent:
      say(response, 415, "Needed JSON or a picture.");
      return true;
  }
  return true;
}

void send_builtin(const char* name, const char* type, httplib::Response& response) {
  const auto text = builtin_data(name);
  if (text.empty()) response.status = 404;
  response.set_content(text.data(), text.size(), type);
}

void hand_on(BenchService& service, const httplib::Request& request, httplib::Response& response) {
  Question question{request.method, request.path, {}, request.get_header_value("Content-Type"), request.body};
  for (const auto& [name, value] : request.params) question.parameters[name] = value;
  const Reply reply = service.answer(question);
  response.status = reply.status;
  response.set_content(reply.body, reply.type);
  if (!reply.revision.empty()) response.set_header("ETag", "\"" + reply.revision + "\"");
  if (reply.page_of_its_own) response.set_header("Content-Security-Policy", kReportPolicy);
}

// The devices that have been let in, and one of them dismissed.
void list_devices(const Gate& gate, const std::string& next_address, const httplib::Request& request,
                  httplib::Response& response) {
  nlohmann::json all = nlohmann::json::array();
  for (const Device& device : gate.devices(caller_of(request)))
    all.push_back(
        {{"number", device.number}, {"name", device.name}, {"since", device.since}, {"this", device.asking}});
  response.set_content(text_of({{"devices", all}, {"next", next_address}}), "application/json");
}

void dismiss_device(Gate& gate, const httplib::Request& request, httplib::Response& response) {
  const auto fields =
      fields_of({request.method, request.path, {}, request.get_header_value("Content-Type"), request.body});
  const std::string number = fields ? field(*fields, "number") : "";
  const bool plain =
      !number.empty() && number.size() < 7 && number.find_first_not_of("0123456789") == std::string::npos;
  const Reply reply = plain && gate.dismiss(std::stoi(number)) ? good({{"dismissed", true}})
                                                               : refusal(404, "there is no such device");
  response.status = reply.status;
  response.set_content(reply.body, reply.type);
}

// Ends the server at Ctrl-C: the signals are blocked in all threads and waited for in one.
class EndAtSignal {
public:
  explicit EndAtSignal(httplib::Server& server) {
    sigemptyset(&signals_);
    for (const int s : {SIGINT, SIGTERM, SIGHUP, SIGUSR1}) sigaddset(&signals_, s);
    ::pthread_sigmask(SIG_BLOCK, &signals_, nullptr);
    waiter_ = std::thread([this, &server] {
      int which = 0;
      sigwait(&signals_, &which);
      if (which == SIGUSR1) return;  // the server has ended by itself
      while (!server.is_running()) std::this_thread::sleep_for(std::chrono::milliseconds(5));
      server.stop();
    });
  }
  ~EndAtSignal() {
    ::pthread_kill(waiter_.native_handle(), SIGUSR1);
    waiter_.join();
  }

private:
  sigset_t signals_{};
  std::thread waiter_;
};

}  // namespace

Result<void> serve(BenchService& service, const ServerOptions& options) {
  BoundedServer server(options.patience_s);
  const bool encrypted = !options.certificate_file.empty();
  if (encrypted)
    if (const auto ok = server.encrypt(options.certificate_file, options.key_file); !ok) return ok.error();
  const std::string scheme = encrypted ? "https" : "http";
  const EndAtSignal end(server);
  server.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
  // A port belongs to one server: the library would let several share it.
  server.set_socket_options([](int socket) {
    const int yes = 1;
    ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  });
  server.set_tcp_nodelay(
      true);  // else a kept connection waits 40 ms between the head and the body of a reply
  server.set_payload_max_length(kLargestUpload);
  server.set_keep_alive_max_count(100);
  const std::string bind = options.lan ? "0.0.0.0" : "127.0.0.1";
  const int port = options.port > 0 ? (server.bind_to_port(bind, options.port) ? options.port : -1)
                                    : server.bind_to_any_port(bind);
  if (port < 0)
    return Error{ErrorCode::kBadArgument,
                 "port " + std::to_string(options.port) + " is taken or not allowed, needed another --port"};
  const std::string behind = ":" + std::to_string(port);
  const std::string address = options.lan ? lan_address() : "127.0.0.1";
  if (address.empty())
    return Error{ErrorCode::kBadArgument, "this computer is on no network, needed one for --lan"};
  const std::string host = (options.name.empty() ? address : options.name) + behind;
  const std::string cookie_name = "rondure-" + std::to_string(port);
  Gate gate({host, address + behind, "127.0.0.1" + behind, "localhost" + behind}, cookie_name, scheme);
  const auto next_address = [&] { return scheme + "://" + host + "/?key=" + gate.next_key(); };
  const auto announce = [&] { options.announce(next_address()); };

  server.set_pre_routing_handler([&](const httplib::Request& request, httplib::Response& response) {
    response.set_header("X-Content-Type-Options", "nosniff");
    response.set_header("Referrer-Policy", "no-referrer");
    response.set_header("Cache-Control", "no-store");
    const Caller caller = caller_of(request);
    Entry entry = gate.judge(caller);
    if (entry == Entry::kNewDevice) {
      const std::string cookie = gate.admit(caller, now_utc());
      if (cookie.empty()) entry = Entry::kUnknown;  // another device was quicker
      if (!cookie.empty()) {
        response.set_header("Set-Cookie", cookie_name + "=" + cookie + "; HttpOnly; SameSite=Strict; Path=/" +
                                              (encrypted ? "; Secure" : ""));
        response.set_redirect("/", 303);
        announce();
        return httplib::Server::HandlerResponse::Handled;
      }
    }
    if (turned_away(entry, response)) {
      response.set_header("Content-Security-Policy", kPolicy);
      return httplib::Server::HandlerResponse::Handled;
    }
    return httplib::Server::HandlerResponse::Unhandled;
  });
  server.set_post_routing_handler([](const httplib::Request&, httplib::Response& response) {
    if (!response.has_header("Content-Security-Policy"))
      response.set_header("Content-Security-Policy", kPolicy);
  });
  server.set_exception_handler([](const httplib::Request&, httplib::Response& response, std::exception_ptr) {
    say(response, 500, "That went wrong here; nothing was changed.");
  });
  server.Get("/",
             [](const auto&, auto& out) { send_builtin("bench.html", "text/html; charset=utf-8", out); });
  server.Get("/bench.css", [](const auto&, auto& out) { send_builtin("bench.css", "text/css", out); });
  server.Get("/(bench(?:_[a-z]+)?\\.js)", [](const auto& in, auto& out) {
    send_builtin(in.matches[1].str().c_str(), "text/javascript", out);
  });
  server.Get("/api/devices", [&](const auto& in, auto& out) { list_devices(gate, next_address(), in, out); });
  server.Post("/api/devices", [&](const auto& in, auto& out) { dismiss_device(gate, in, out); });
  const auto api = [&](const auto& in, auto& out) { hand_on(service, in, out); };
  server.Get("/api/[a-z]+", api);
  server.Get("/api/pages/[0-9]+/.+", api);
  server.Post("/api/[a-z]+", api);
  announce();
  server.listen_after_bind();
  return {};
}

}  // namespace rondure::cli
