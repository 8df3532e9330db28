// What the page at the bench asks for, answered without a network: a question in, a reply out.
//
//   GET  /api/parts                        records, readings, pictures and calibrations of the folder
//   GET  /api/part?file=A.json             the record
//   GET  /api/report?file=A.json           its page to print
//   GET  /api/picture?file=A.jpg           the photograph as it is
//   GET  /api/overlay?id=N                 what a measurement of this run drew over a photograph (PNG)
//   GET  /api/readings?file=A.csv          the readings as they stand, and what they give
//   POST /api/readings  {file, line, unit, digits}       one line as typed to 'rondure record'
//   POST /api/keep      {file, part, feature, kind}      the readings' answer into a record
//   POST /api/picture?name=A.jpg           a photograph (the body) into the folder; never over another
//   POST /api/measure   {picture, calibration, board, square, height, scale, near, material, part}
//   POST /api/original  {part, material, on_metal, evidence}
//   POST /api/plan      {part, shaft, material_new, tools}
// Everything but the files themselves is done by the commands of this program, run as commands: no second logic,
// and a picture is decoded outside the server.
#pragma once
#include <atomic>
#include <filesystem>
#include <map>
#include <mutex>
#include <string>

#include "folder.hpp"

namespace rondure::cli {

struct Question {
  std::string method, path;
  std::map<std::string, std::string> parameters;
  std::string content_type, body;
};

struct Reply {
  int status = 200;
  std::string type = "application/json", body;
  bool page_of_its_own = false;  // a report: styles and pictures inside, nothing else
};

class BenchService {
public:
  // Errors: kFileUnwritable (no folder for what measurements draw).
  static Result<std::unique_ptr<BenchService>> make(BenchFolder folder, bool read_only);
  ~BenchService();

  Reply answer(const Question& question);

private:
  BenchService(BenchFolder folder, bool read_only, std::filesystem::path drawn);

  Reply parts();
  Reply part(const Question& question) const;
  Reply report(const Question& question);
  Reply picture(const Question& question) const;
  Reply overlay(const Question& question) const;
  Reply readings(const Question& question);
  Reply type_line(const Question& question);
  Reply keep(const Question& question);
  Reply take_picture(const Question& question);
  Reply measure(const Question& question);
  Reply original(const Question& question);
  Reply plan(const Question& question);
  std::string state_of_readings(const std::string& file, const std::string& answer);

  struct Seen {
    std::filesystem::file_time_type changed;
    std::string line;  // JSON of the list's entry; empty for a file that is no record
  };

  BenchFolder folder_;
  bool read_only_;
  std::filesystem::path drawn_;  // of this run, removed at its end
  std::atomic<int> next_drawing_{1};
  std::mutex list_mutex_, readings_mutex_;
  std::map<std::string, Seen> seen_;
};

}  // namespace rondure::cli
