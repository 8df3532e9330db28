// Requests to the page at the bench. The first byte says what the rest is: bytes from the network (the library's own
// parser, then gate, names and body), a JSON body alone, a check sheet with a figure, or a table and the page of a set.
// No file outside the folder may
// be named, no key guessed, every reply is one.
#include <httplib.h>

#include <cstdint>
#include <cstring>
#include <filesystem>
#include <string>

#include "cli/bench/answers.hpp"
#include "cli/bench/check_sheet.hpp"
#include "cli/bench/folder.hpp"
#include "cli/bench/gate.hpp"
#include "cli/bench/named_in_text.hpp"
#include "must.hpp"

using namespace rondure;
using namespace rondure::cli;
namespace fs = std::filesystem;

namespace {

const BenchFolder& folder() {
  static const auto opened = BenchFolder::open(fs::temp_directory_path());
  must(opened.has_value());
  return *opened;
}

void names_stay_inside(const std::string& name) {
  for (const FileKind kind : {FileKind::kRecord, FileKind::kReadings, FileKind::kPicture}) {
    const auto path = folder().file(name, kind);
    if (path) must(path->parent_path() == folder().path() && path->filename() == name && name[0] != '.');
    must(path || path.error().detail.find('\n') == std::string::npos);
  }
}

// Several names, a line each, as parts and photographs are given.
void every_line_stays_inside(const std::string& lines) {
  for (const FileKind kind : {FileKind::kRecord, FileKind::kReadings, FileKind::kPicture})
    if (const auto names = folder().files(lines_of(lines), kind))
      for (const std::string& name : *names)
        must(folder().file(name, kind)->parent_path() == folder().path());
}

void table_is_known_or_none(const std::string& text) {
  const auto kind = table_kind(text);
  must(kind.empty() || (table_head(text).starts_with(kind) && text.find(kind.front()) != std::string::npos));
  must(table_kind("# a comment\n" + text) == kind);  // a comment changes no kind
}

void page_stays_in_its_set(const std::string& rest) {
  const auto page = page_asked("/api/pages/" + rest);
  if (!page) return;
  must(is_number(page->id) && rest == page->id + "/" + page->name);
  if (const auto path = folder().file(page->name, FileKind::kPage))
    must(path->parent_path() == folder().path() && path->filename() == page->name);
}

void body_is_fields_or_refused(const Question& question) {
  const auto fields = fields_of(question);
  if (!fields) return;
  for (const auto& [name, value] : *fields) {
    must(value.size() <= (name == "text" ? 1u << 18 : 4096u) && value.find('\0') == std::string::npos);
    names_stay_inside(value);
    every_line_stays_inside(value);
    table_is_known_or_none(value);
    std::vector<std::string> arguments;
    options_of_lines(arguments, "call", value);
    for (const auto& argument : arguments) must(argument.starts_with("--call="));
    arguments.clear();
    pass_on(arguments, *fields, {"metric_prior", "unit"}, {"same_drawing", "tie"});
    for (const auto& argument : arguments)  // whatever is said, no other option comes of it
      must(argument.starts_with("--metric-prior=") || argument.starts_with("--unit=") ||
           argument.starts_with("--same-drawing=") || argument.starts_with("--tie="));
  }
  must(!text_of(nlohmann::json(*fields)).empty());
}

// Bytes in, bytes out.
class Memory : public httplib::Stream {
public:
  explicit Memory(std::string in) : in_(std::move(in)) {}
  bool is_readable() const override { return at_ < in_.size(); }
  bool is_writable() const override { return true; }
  ssize_t read(char* into, std::size_t size) override {
    const std::size_t n = std::min(size, in_.size() - at_);
    std::memcpy(into, in_.data() + at_, n);
    at_ += n;
    return ssize_t(n);
  }
  ssize_t write(const char* from, std::size_t size) override { return out.append(from, size), ssize_t(size); }
  void get_remote_ip_and_port(std::string&, int&) const override {}
  void get_local_ip_and_port(std::string&, int&) const override {}
  socket_t socket() const override { return -1; }
  std::string out;

private:
  std::string in_;
  std::size_t at_ = 0;
};

class Served : public httplib::Server {
public:
  Served() : gate_({"bench:80"}, "rondure", "http") {
    set_payload_max_length(1 << 16);
    set_pre_routing_handler([this](const httplib::Request& in, httplib::Response& out) {
      const Caller caller{in.method,
                          in.path,
                          in.get_header_value("Host"),
                          in.get_header_value("Origin"),
                          in.get_header_value("Cookie"),
                          in.get_header_value("Content-Type"),
                          in.get_param_value("key"),
                          in.get_header_value("User-Agent")};
      const Entry entry = gate_.judge(caller);
      must(entry != Entry::kWelcome && entry != Entry::kNewDevice);  // the key has 128 bits
      must(gate_.admit(caller, "").empty());
      for (const auto& [name, value] : in.params) names_stay_inside(value);
      out.status = 403;
      // behind the gate, the body would be read: so it is here
      return caller.host == "bench:80" ? HandlerResponse::Unhandled : HandlerResponse::Handled;
    });
    const auto look = [](const httplib::Request& in, httplib::Response& out) {
      body_is_fields_or_refused({in.method, in.path, {}, in.get_header_value("Content-Type"), in.body});
      out.status = 200;
    };
    Get("/api/[a-z]+", look);
    Get("/api/pages/[0-9]+/.+", [](const httplib::Request& in, httplib::Response& out) {
      must(page_asked(in.path).has_value() == is_number(in.path.substr(11, in.path.find('/', 11) - 11)));
      out.status = 200;
    });
    Post("/api/[a-z]+", look);
  }
  std::string answer(const std::string& bytes) {
    Memory memory(bytes);
    for (bool closed = false; !closed && memory.is_readable();)
      if (!process_request(memory, false, closed, nullptr)) break;
    return memory.out;
  }

private:
  Gate gate_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
  if (data[0] % 4 == 0) {
    static Served served;
    const std::string reply = served.answer(text);
    must(reply.empty() || reply.starts_with("HTTP/1."));
  } else if (data[0] % 4 == 1) {
    body_is_fields_or_refused({"POST", "/api/measure", {}, "application/json", text});
    names_stay_inside(text);
  } else if (data[0] % 4 == 3) {
    table_is_known_or_none(text);
    page_stays_in_its_set(text);
  } else {
    const auto split = text.find('\n');
    const std::string figure = text.substr(0, split),
                      sheet = split == std::string::npos ? "" : text.substr(split + 1);
    const auto filled = with_figure(sheet, "outside", figure, "");
    if (filled) {
      const auto again =
          with_figure(*filled, "outside", figure, "");  // the sheet stays one that can be filled in
      must(again.has_value() && *again == *filled);
    }
    must(!nlohmann::json::parse(rows_json(sheet), nullptr, false).is_discarded());
  }
  return 0;
}
