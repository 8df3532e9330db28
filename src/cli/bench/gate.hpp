// Who may come in: every request to the page at the bench passes here before anything else happens.
//
// A device is let in once by a key in the address (128 random bits, good for one use); from then on by a cookie
// of its own (128 random bits, HttpOnly, SameSite=Strict). The Host header must name this server (a foreign name
// that was pointed at this machine does not), and whatever changes something must come from a page of this server
// (Origin) and as JSON or a picture, which no foreign form can send. Keys and cookies live as long as the program.
#pragma once
#include <mutex>
#include <string>
#include <vector>

namespace rondure::cli {

// The parts of a request that decide who may come in; header values are empty where there is none.
struct Caller {
  std::string method, path, host, origin, cookie, content_type, key, device;
};

// A browser that has been let in.
struct Device {
  int number = 0;
  std::string name;   // as it calls itself, shortened
  std::string since;  // UTC
  bool asking = false;
};

enum class Entry {
  kWelcome,       // has a valid cookie
  kNewDevice,     // brought the key: to be given a cookie
  kUnknown,       // neither: 403
  kForeignHost,   // another name for this machine: 421
  kForeignPage,   // a change asked for by another page: 403
  kWrongContent,  // a change in a form that another page could send: 415
};

// 128 bits of the system's random numbers, 32 hexadecimal digits.
std::string random_key();

class Gate {
public:
  // `hosts`: what Host may say, with the port ("127.0.0.1:8080").
  // `cookie_name`: one a port, since browsers share cookies between the ports of a machine. `scheme`: "http" or "https".
  Gate(std::vector<std::string> hosts, std::string cookie_name, std::string scheme)
      : hosts_(std::move(hosts)),
        cookie_name_(std::move(cookie_name)),
        scheme_(std::move(scheme)),
        key_(random_key()) {}

  Entry judge(const Caller& caller) const;
  // The cookie of a new device; its key is used up. Empty when the key is not (any more) the right one.
  std::string admit(const Caller& caller, const std::string& now);
  std::vector<Device> devices(const Caller& asking) const;
  bool dismiss(int number);      // from now on unknown; false: there is no such device
  std::string next_key() const;  // for the next device

private:
  struct Known {
    std::string cookie;
    Device device;
  };
  const Known* known(const Caller& caller) const;

  std::vector<std::string> hosts_;
  std::string cookie_name_, scheme_;
  mutable std::mutex mutex_;
  std::string key_;
  std::vector<Known> known_;
  int last_number_ = 0;
};

}  // namespace rondure::cli
