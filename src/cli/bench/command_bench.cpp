#include <qrencode.h>
#include <signal.h>
#include <unistd.h>

#include <iostream>
#include <memory>

#include "cli/bench/server.hpp"
#include "cli/terminal/command.hpp"

namespace rondure::cli {
namespace {

struct BenchOptions {
  std::string folder = ".", name, certificate, key;
  bool lan = false, read_only = false;
  int port = 0;
  double patience_s = 10;
};

// Two rows of modules a line, dark on light with a margin of two, whatever the terminal's colours are.
std::string as_qr_code(const std::string& text) {
  const std::unique_ptr<QRcode, decltype(&QRcode_free)> code(
      QRcode_encodeString(text.c_str(), 0, QR_ECLEVEL_L, QR_MODE_8, 1), &QRcode_free);
  if (!code) return {};
  const int margin = 2, width = code->width;
  const auto dark = [&](int x, int y) {
    return x >= 0 && y >= 0 && x < width && y < width && (code->data[y * width + x] & 1);
  };
  std::string out;
  for (int y = -margin; y < width + margin; y += 2) {
    out += "  \x1b[38;5;16;48;5;231m";
    for (int x = -margin; x < width + margin; ++x)
      out += dark(x, y) ? (dark(x, y + 1) ? "\u2588" : "\u2580") : (dark(x, y + 1) ? "\u2584" : " ");
    out += "\x1b[0m\n";
  }
  return out;
}

int run_bench(const BenchOptions& options) {
  ::signal(SIGPIPE, SIG_IGN);
  ::signal(SIGXFSZ, SIG_IGN);
  auto folder = BenchFolder::open(options.folder);
  if (!folder) return report_error(folder.error());
  auto service = BenchService::make(std::move(*folder), options.read_only);
  if (!service) return report_error(service.error());
  if (options.certificate.empty() != options.key.empty())
    return report_usage("--certificate and --key belong together: found one, needed both");
  ServerOptions server{options.lan, options.port,       options.name, options.certificate,
                       options.key, options.patience_s, nullptr};
  bool first = true;
  server.announce = [&](const std::string& address) {
    std::cout << (first ? "Open in a browser (good for one device): " : "For the next device: ") << address
              << '\n';
    if (first && options.lan) {
      if (options.certificate.empty())
        std::cout
            << "Anyone on this network can read what goes by: it is not encrypted (--certificate and --key "
               "with files of yours make it so).\n";
      std::cout << "Ctrl-C ends it.\n";
      if (::isatty(STDOUT_FILENO) == 1) std::cout << as_qr_code(address);
    } else if (first) {
      std::cout << "Only this computer can reach it. Ctrl-C ends it.\n";
    }
    std::cout.flush();
    first = false;
  };
  if (const auto done = serve(**service, server); !done) return report_error(done.error());
  return kDone;
}

}  // namespace

void add_bench(CLI::App& program, Action& action) {
  auto options = std::make_shared<BenchOptions>();
  CLI::App* command = program.add_subcommand(
      "bench", "Serves the page at the bench: photograph, readings, answer and plan in a browser.");
  command->footer(
      "Example: the records, readings and photographs of a folder\n"
      "  rondure bench images-demo\n"
      "Without --lan only this computer can reach the page; with it a phone beside the lathe can too. The "
      "address holds a key that is good for one "
      "device;\n"
      "a new one is printed when it has been used.");
  command->add_option("folder", options->folder, "folder of the part records, readings and pictures to serve")
      ->type_name("FOLDER")
      ->capture_default_str();
  command->add_flag("--lan", options->lan, "lets other devices on this network in, such as a phone");
  command->add_option("--port", options->port, "port to listen on (default: any free one)")
      ->type_name("N")
      ->check(CLI::Range(1, 65535));
  command
      ->add_option("--name", options->name,
                   "name under which other devices know this computer, e.g. bench.local")
      ->type_name("HOST");
  command
      ->add_option("--certificate", options->certificate,
                   "your certificate (PEM): the page is then encrypted (TLS)")
      ->type_name("FILE.pem");
  command->add_option("--key", options->key, "private key of that certificate (PEM)")->type_name("FILE.pem");
  command
      ->add_option("--patience", options->patience_s,
                   "seconds that a request may take to arrive, on top of the time its bytes need")
      ->type_name("S")
      ->check(CLI::Range(1.0, 600.0))
      ->capture_default_str();
  command->add_flag("--read-only", options->read_only, "nothing can be changed from the page");
  command->callback([options, &action] { action = [options] { return run_bench(*options); }; });
}

}  // namespace rondure::cli
