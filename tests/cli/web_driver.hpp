// A browser driven over the WebDriver protocol (W3C Recommendation, 2018) by Debian's chromedriver. Header only.
#pragma once
#define CPPHTTPLIB_OPENSSL_SUPPORT  // as Debian's library was built
#include <fcntl.h>
#include <httplib.h>
#undef _res  // a macro of <resolv.h>, and a name in Eigen
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

class Browser {
public:
  using Json = nlohmann::json;
  int touches = 0;  // clicks and fields typed into

  // `phone`: a touch screen of that size, two device pixels a pixel.
  Browser(int width, int height, bool phone = false) {
    client_ = std::make_unique<httplib::Client>("127.0.0.1", started_driver());
    client_->set_read_timeout(120);
    Json options{
        {"args",
         {"--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
          "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
          "--window-size=" + std::to_string(width) + "," + std::to_string(height)}}};
    if (phone)
      options["mobileEmulation"] = {
          {"deviceMetrics", {{"width", width}, {"height", height}, {"pixelRatio", 2}, {"touch", true}}}};
    const Json all{{"capabilities",
                    {{"alwaysMatch",
                      {{"browserName", "chrome"},
                       {"goog:chromeOptions", options},
                       {"goog:loggingPrefs", {{"browser", "ALL"}}}}}}}};
    session_ = "/session/" + ask("POST", "/session", all)["sessionId"].get<std::string>();
  }
  ~Browser() {
    try {
      if (!session_.empty()) ask("DELETE", session_);
    } catch (const std::exception&) {
    }
    kill(-driver_, SIGTERM);
    int status = 0;
    waitpid(driver_, &status, 0);
    close(from_);
  }
  Browser(const Browser&) = delete;
  Browser& operator=(const Browser&) = delete;

  void go(const std::string& address) { ask("POST", session_ + "/url", {{"url", address}}); }
  void reload() { ask("POST", session_ + "/refresh", Json::object()); }
  void back() { ask("POST", session_ + "/back", Json::object()); }
  Json run(const std::string& script, const Json& arguments = Json::array()) {
    return ask("POST", session_ + "/execute/sync", {{"script", script}, {"args", arguments}});
  }
  // Until the expression is true; what the page shows is in the error when it does not become so.
  void until(const std::string& expression, double allowed_s = 60) {
    const auto begun = std::chrono::steady_clock::now();
    auto pause = std::chrono::milliseconds(20);
    while (!run("return !!(" + expression + ")").get<bool>()) {
      if (std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count() > allowed_s)
        throw std::runtime_error("never true: " + expression + "\n" + text("body").substr(0, 1500));
      std::this_thread::sleep_for(pause);
      pause = std::min(pause * 5 / 4,
                       std::chrono::milliseconds(250));  // what is waited for needs the processor too
    }
  }
  std::string element(const std::string& selector) {
    return ask("POST", session_ + "/element", {{"using", "css selector"}, {"value", selector}})
        .begin()
        ->get<std::string>();
  }
  std::string text(const std::string& selector) {
    return run("const e = document.querySelector(arguments[0]); return e ? e.innerText : ''", {selector})
        .get<std::string>();
  }
  void click(const std::string& selector) {
    until("document.querySelector(" + Json(selector).dump() + ")");
    ++touches;
    // What is pressed may move just then, when something above it was filled in: again, until nothing lies over it.
    for (int attempt = 0;; ++attempt) try {
        ask("POST", session_ + "/element/" + element(selector) + "/click", Json::object());
        return;
      } catch (const std::runtime_error& failure) {
        const std::string said = failure.what();
        const bool moved = said.find("element click intercepted") != std::string::npos ||
                           said.find("stale element reference") != std::string::npos;
        if (!moved || attempt == 250) throw;
        std::this_thread::sleep_for(std::chrono::milliseconds(40));
      }
  }
  // The button or link with these words.
  void press(const std::string& words) {
    const std::string mark = "[data-pressed]";
    until("[...document.querySelectorAll('button, a, summary')].some((e) => e.innerText.startsWith(" +
          Json(words).dump() + "))");
    run("for (const e of document.querySelectorAll('[data-pressed]')) e.removeAttribute('data-pressed');"
        "[...document.querySelectorAll('button, a, summary')].find((e) => "
        "e.innerText.startsWith(arguments[0]))"
        ".setAttribute('data-pressed', '')",
        {words});
    click(mark);
  }
  void type(const std::string& selector, const std::string& keys, bool anew = true) {
    until("document.querySelector(" + Json(selector).dump() + ")");
    const std::string id = element(selector);
    if (anew && run("return document.querySelector(arguments[0]).type !== 'file'", {selector}).get<bool>())
      ask("POST", session_ + "/element/" + id + "/clear", Json::object());
    ++touches;
    ask("POST", session_ + "/element/" + id + "/value", {{"text", keys}});
  }
  // A drag along places of the window, by mouse or finger.
  void drag(const std::vector<std::pair<int, int>>& places, const std::string& by) {
    Json steps = Json::array();
    steps.push_back(
        {{"type", "pointerMove"}, {"duration", 0}, {"x", places[0].first}, {"y", places[0].second}});
    steps.push_back({{"type", "pointerDown"}, {"button", 0}});
    for (const auto& [x, y] : places)
      steps.push_back({{"type", "pointerMove"}, {"duration", 30}, {"x", x}, {"y", y}});
    steps.push_back({{"type", "pointerUp"}, {"button", 0}});
    ++touches;
    ask("POST", session_ + "/actions",
        {{"actions",
          {{{"type", "pointer"}, {"id", by}, {"parameters", {{"pointerType", by}}}, {"actions", steps}}}}});
  }
  std::string window() { return ask("GET", session_ + "/window").get<std::string>(); }
  std::string new_window() {
    return ask("POST", session_ + "/window/new", {{"type", "window"}})["handle"].get<std::string>();
  }
  void to_window(const std::string& handle) { ask("POST", session_ + "/window", {{"handle", handle}}); }
  // What the console was told, one line each. Chromium tells it of every 4xx: those that the page asked for on purpose
  // are `expected`, by the end of their address.
  std::string console(const std::vector<std::string>& expected = {}) {
    std::string all;
    for (const auto& line : ask("POST", session_ + "/se/log", {{"type", "browser"}})) {
      const auto text = line["message"].get<std::string>();
      const bool known = std::any_of(expected.begin(), expected.end(), [&](const std::string& end) {
        return text.find(end + " - Failed") != std::string::npos;
      });
      if (!known) all += text + "\n";
    }
    return all;
  }
  // Addresses that were asked for outside `origin`.
  std::string strangers(const std::string& origin) {
    return run("return performance.getEntriesByType('resource').map((e) => e.name).filter((n) => "
               "!n.startsWith(arguments[0]) && !n.startsWith('data:')).join(' ')",
               {origin})
        .get<std::string>();
  }
  // The window as it is seen, PNG.
  std::string screenshot() { return from_base64(ask("GET", session_ + "/screenshot").get<std::string>()); }
  // Every answer comes so much later.
  void slow_by(int latency_ms) {
    chrome("Network.enable", Json::object());
    chrome(
        "Network.emulateNetworkConditions",
        {{"offline", false}, {"latency", latency_ms}, {"downloadThroughput", -1}, {"uploadThroughput", -1}});
  }
  Json chrome(const std::string& command, const Json& parameters) {
    return ask("POST", session_ + "/goog/cdp/execute", {{"cmd", command}, {"params", parameters}});
  }

private:
  static std::string from_base64(const std::string& text) {
    std::string bytes;
    unsigned bits = 0;
    int held = 0;
    for (const char c : text) {
      const int value = c >= 'A' && c <= 'Z'   ? c - 'A'
                        : c >= 'a' && c <= 'z' ? c - 'a' + 26
                        : c >= '0' && c <= '9' ? c - '0' + 52
                        : c == '+'             ? 62
                        : c == '/'             ? 63
                                               : -1;
      if (value < 0) continue;
      bits = bits << 6 | unsigned(value), held += 6;
      if (held >= 8) held -= 8, bytes += char(bits >> held & 0xff);
    }
    return bytes;
  }
  // The driver's port. It takes one port for both kinds of address and ends at once where another program has it for one
  // of them: then it is started again (2026-11-28, beside other drivers).
  int started_driver() {
    for (int attempt = 0; attempt < 5; ++attempt) {
      int out[2];
      if (pipe2(out, O_CLOEXEC)) throw std::runtime_error("pipe");
      driver_ = fork();
      if (driver_ == 0) {
        setpgid(0, 0);
        dup2(out[1], 1);
        if (const int nowhere = open("/dev/null", O_WRONLY); nowhere >= 0) dup2(nowhere, 2);
        execlp("chromedriver", "chromedriver", "--port=0", static_cast<char*>(nullptr));
        _exit(127);
      }
      close(out[1]);
      from_ = out[0];
      if (const int found = port()) return found;
      int status = 0;
      waitpid(driver_, &status, 0);
      close(from_);
    }
    throw std::runtime_error("chromedriver did not start (Debian: chromium-driver)");
  }
  // 0: the driver ended before it said its port.
  int port() {
    std::string line;
    for (char c; read(from_, &c, 1) == 1;) {
      if (c != '\n') {
        line += c;
        continue;
      }
      const std::string mark = "started successfully on port ";
      if (const auto at = line.find(mark); at != std::string::npos)
        return std::stoi(line.substr(at + mark.size()));
      line.clear();
    }
    return 0;
  }
  Json ask(const std::string& method, const std::string& path, const Json& body = nullptr) {
    const auto reply = method == "GET"      ? client_->Get(path.c_str())
                       : method == "DELETE" ? client_->Delete(path.c_str())
                                            : client_->Post(path.c_str(), body.dump(), "application/json");
    if (!reply) throw std::runtime_error("chromedriver does not answer " + path);
    const Json answer = Json::parse(reply->body, nullptr, false);
    if (reply->status != 200) throw std::runtime_error(path + ": " + reply->body.substr(0, 400));
    return answer["value"];
  }

  pid_t driver_ = -1;
  int from_ = -1;
  std::unique_ptr<httplib::Client> client_;
  std::string session_;
};
