// What the page at the bench asks for, answered without a network: a question in, a reply out.
//
//   GET  /api/parts                        records, readings, pictures and calibrations of the folder
//   GET  /api/part?file=A.json             the record
//   GET  /api/report?file=A.json&unit=in   its page to print
//   GET  /api/picture?file=A.jpg           the photograph as it is
//   GET  /api/overlay?id=N                 what a measurement of this run drew over a photograph (PNG)
//   GET  /api/drawing?id=N                 what a plan of this run drew (SVG)
//   GET  /api/readings?file=A.csv          the readings as they stand, and what they give
//   GET  /api/sheet?part=A.json            the check sheet being filled in, and its verdicts
//   GET  /api/limits?part=A.json           the plan's sizes and limits as they are printed, mm and inches
//   GET  /api/compare?part=A.json&other=B.json&tolerance=T&turn=auto  what 'compare' says of two records
//   GET  /api/progress?job=NAME            how far a piece of work is; {over} when there is none
//   POST /api/stop      {job}              ends it
//   POST /api/readings  {file, line, unit, digits, seen}  one line as typed to 'rondure record'
//   POST /api/keep      {file, part, feature, kind}      the readings' answer into a record
//   POST /api/picture?name=A.jpg           a photograph (the body) into the folder; never over another
//   POST /api/measure   {picture, others, several, angles, calibration, drawn, job, seen; the options of 'measure'}
//   POST /api/add       {part, name, sizes, called, job, seen; the options of 'add'}  `called`: --part
//   POST /api/original  {part, grids, job, seen; the options of 'original' for one part}
//   POST /api/plan      {part, tools, steps, job, seen; the options of 'plan'}
//   POST /api/sheet     {part, row, measured, u}: a figure into the check sheet
// `others`: further photographs of the same part, at rest or (`several` is "turned") turned by `angles`; `drawn`: the edges drawn over a single one are wanted as a picture too. `scan`: the resolution, or "as the file says"; `side`: on its side. Options have '_' for '-'. Fields are texts; those that
// may be given several times have one a line. `job`: a name for asking and stopping.
// `seen`: the revision of the file that the asker has looked at; where it has changed since, a change is refused (409)
// and a reading, which hurts nobody, is kept and the change told.
// Everything but the files themselves is done by the commands of this program, run as commands: no second logic, and a
// picture is decoded outside the server. Readings go through the dialogue of 'record' within, for speed.
#pragma once
#include <atomic>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/bench/child.hpp"
#include "cli/bench/folder.hpp"
#include "cli/bench/works.hpp"

namespace rondure {
enum class LengthUnit;
}

namespace rondure::cli {

class RecordDesk;

struct Question {
  std::string method, path;
  std::map<std::string, std::string> parameters;
  std::string content_type, body;
};

struct Reply {
  int status = 200;
  std::string type = "application/json", body;
  bool page_of_its_own = false;  // a report: styles and pictures inside, nothing else
  std::string revision = {};     // of the file that was asked for
};

class BenchService {
public:
  // `read_only`: nothing in the folder is changed; photographs are measured without being kept. Errors:
  // kFileUnwritable (no folder for what measurements draw).
  static Result<std::unique_ptr<BenchService>> make(BenchFolder folder, bool read_only);
  ~BenchService();

  Reply answer(const Question& question);

private:
  using Fields = std::map<std::string, std::string>;
  BenchService(BenchFolder folder, bool read_only, std::filesystem::path drawn);

  Reply parts();
  Reply part(const Question& question) const;
  Reply limits(const Question& question) const;
  Reply compare(const Question& question);
  Reply report(const Question& question);
  Reply picture(const Question& question) const;
  Reply drawn(const Question& question, const std::string& stem, const std::string& ending,
              const std::string& type) const;
  Reply take_picture(const Question& question);

  Result<RecordDesk*> desk_for(const std::filesystem::path& path, LengthUnit unit, bool unit_asked,
                               const std::string& digits);
  Reply readings(const Question& question);
  Reply type_line(const Question& question);
  Reply keep(const Question& question);

  Reply progress(const Question& question);
  Reply stop(const Question& question);
  Reply measure(const Question& question);
  Reply add(const Question& question);
  Reply original(const Question& question);
  Reply plan(const Question& question);
  Reply sheet(const Question& question);
  Reply fill_sheet(const Question& question);

  ChildAnswer run(const Fields& fields, const std::vector<std::string>& arguments);
  // A command that changes the record `part`, unless somebody else has since it was seen.
  Reply change(const Fields& fields, const std::string& part, const std::vector<std::string>& arguments,
               const std::function<Reply(const ChildAnswer&)>& answered);
  Result<void> lay_sheet(const std::string& part, std::string sheet);
  Reply state_of_sheet(const std::string& part);
  std::filesystem::path sheet_of(const std::string& part) const;
  nlohmann::json overlays_of(const std::vector<std::string>& pictures, const std::filesystem::path& drawing);
  std::filesystem::path next_drawing(const std::string& stem, const std::string& ending, std::string& id);

  struct Seen {
    std::filesystem::file_time_type changed;
    std::string line;  // JSON of the list's entry; empty for a file that is no record
  };
  struct OpenDesk {
    std::unique_ptr<RecordDesk> desk;
    std::string digits, left;  // the file's revision after the last line
  };

  BenchFolder folder_;
  bool read_only_;
  std::filesystem::path drawn_;  // of this run, removed at its end
  std::atomic<int> next_drawing_{1};
  std::mutex list_mutex_, readings_mutex_, record_mutex_;
  std::map<std::string, Seen> seen_;
  std::map<std::filesystem::path, OpenDesk> desks_;  // under readings_mutex_
  Works works_;
};

}  // namespace rondure::cli
