// What the page at the bench asks for, answered without a network: a question in, a reply out.
//
//   GET  /api/parts                        records, readings, pictures and calibrations of the folder
//   GET  /api/part?file=A.json             the record
//   GET  /api/report?file=A.json&unit=in&drawn=N  its page to print; N: drawn up before, good for once
//   GET  /api/picture?file=A.jpg           the photograph as it is
//   GET  /api/overlay?id=N                 what a measurement of this run drew over a photograph (PNG)
//   GET  /api/drawing?id=N                 what a plan of this run drew (SVG)
//   GET  /api/readings?file=A.csv          the readings as they stand, and what they give
//   GET  /api/sheet?part=A.json            the check sheet being filled in, and its verdicts
//   GET  /api/limits?part=A.json           the plan's sizes and limits as they are printed, mm and inches
//   GET  /api/compare?part=A.json&other=B.json&tolerance=T&turn=auto&job=NAME  what 'compare' says
//   GET  /api/progress?job=NAME            how far a piece of work is; {over} when there is none
//   GET  /api/section?id=N&as=dxf          the bare section of a plan of this run (dxf or svg)
//   GET  /api/pages/N/NAME.html            pages of a set of this run
//   GET  /api/table?file=A.csv             a table of sizes, tools, steps or grids as it stands
//   GET  /api/materials                    the names of materials
//   POST /api/stop      {job}              ends it
//   POST /api/report    {part, unit, job}  draws up its page to print: {page: N}
//   POST /api/readings  {file, line, unit, seen; the options of 'record': digits, along, arc, calibration, temperature,
//                        material}         one line as typed to 'rondure record'
//   POST /api/keep      {file, others, part; the options of 'fit'}  the answer of readings into a record; without
//                                          `part` it is only looked at
//   POST /api/picture?name=A.jpg           a photograph (the body) into the folder; never over another
//   POST /api/measure   {picture, others, several, angles, calibration, drawn, job, seen; the options of 'measure'}
//   POST /api/add       {part, name, sizes, called, job, seen; the options of 'add'}  `called`: --part
//   POST /api/original  {part, sizes, called, job, seen; the options of 'original' for one part}
//   POST /api/plan      {part, tools, steps, job, seen; the options of 'plan'}
//   POST /api/sheet     {part, row, measured, u}: a figure into the check sheet
//   POST /api/set       {parts, job; the options of 'original' for several}  what they were drawn as together
//   POST /api/wear      {parts, same_drawing, unit, job}  which of them has worn most ('compare')
//   POST /api/table     {file, text, seen}: a table of a known kind
// `parts`: records of the folder, one a line. `others`: further photographs of the same part, at rest or (`several` is
// "turned") turned by `angles`, or ("each") each of a part of its own; further files of readings, a feature each. `drawn`:
// the edges drawn over a single photograph are wanted as a picture too. `scan`: the resolution, or "as the file says"; `side`: on its side. Options have '_' for '-'. Fields are texts; those that
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
#include <optional>
#include <string>

#include "cli/bench/child.hpp"
#include "cli/bench/folder.hpp"
#include "cli/bench/run_folder.hpp"
#include "cli/bench/works.hpp"

namespace rondure {
struct Feature;
}

namespace rondure::cli {

class RecordDesk;
struct DeskOptions;

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
  BenchService(BenchFolder folder, bool read_only, std::unique_ptr<RunFolder> drawn);

  Reply parts();
  Reply part(const Question& question) const;
  Reply limits(const Question& question) const;
  Reply compare(const Question& question);
  Result<std::string> draw_page(const std::string& name, const Fields& fields);
  Reply report(const Question& question);
  Reply draw_report(const Question& question);
  Reply picture(const Question& question) const;
  Reply drawn(const Question& question, const std::string& stem, const std::string& ending,
              const std::string& type) const;
  Reply take_picture(const Question& question);

  Result<RecordDesk*> desk_for(const std::filesystem::path& path, const Fields& fields);
  nlohmann::json state_of(const std::filesystem::path& path, const std::string& answer, const Fields& fields,
                          const Feature* known = nullptr) const;
  Result<DeskOptions> desk_options(const Fields& fields) const;
  Reply readings(const Question& question);
  Reply type_line(const Question& question);
  Reply keep(const Question& question);

  Reply progress(const Question& question);
  Reply stop(const Question& question);
  Reply measure(const Question& question);
  Reply add(const Question& question);
  Reply original(const Question& question);
  Reply plan(const Question& question);
  Reply set(const Question& question);
  Reply wear(const Question& question);
  Reply page_of_set(const Question& question) const;
  Reply section(const Question& question) const;
  Reply table(const Question& question) const;
  Reply write_table(const Question& question);
  Reply materials();
  Reply sheet(const Question& question);
  Reply fill_sheet(const Question& question);

  ChildAnswer run(const Fields& fields, const std::vector<std::string>& arguments);
  // A command that changes the record `part`, unless somebody else has since it was seen.
  Reply change(const Fields& fields, const std::string& part, const std::vector<std::string>& arguments,
               const std::function<Reply(const ChildAnswer&)>& answered);
  Result<void> lay_sheet(const std::string& part, std::string sheet);
  Reply state_of_sheet(const std::string& part);
  std::filesystem::path sheet_of(const std::string& part) const;
  struct Traces;
  std::optional<Reply> pictures_asked(std::vector<std::string>& arguments, const Fields& fields,
                                      std::vector<std::string>& pictures) const;
  Traces traces_asked(std::vector<std::string>& arguments, const Fields& fields, bool several);
  std::optional<Reply> parts_of(std::vector<std::string>& arguments, const Fields& fields) const;
  std::optional<Reply> files_of(std::vector<std::string>& arguments, const Fields& fields,
                                std::initializer_list<const char*> names, FileKind kind) const;
  std::optional<Reply> new_table(std::vector<std::string>& arguments, const Fields& fields,
                                 const char* name) const;
  nlohmann::json overlays_of(const std::vector<std::string>& pictures, const std::filesystem::path& drawing);
  std::filesystem::path next_drawing(const std::string& stem, const std::string& ending, std::string& id);

  struct Seen {
    std::filesystem::file_time_type changed;
    std::string line;  // JSON of the list's entry; empty for a file that is no record
  };
  struct OpenDesk {
    std::unique_ptr<RecordDesk> desk;
    std::string how, left;  // what was said of the readings; the file's revision after the last line
  };

  BenchFolder folder_;
  bool read_only_;
  std::unique_ptr<RunFolder> drawn_;  // of this run
  std::atomic<int> next_drawing_{1};
  std::mutex list_mutex_, readings_mutex_, record_mutex_;
  std::map<std::string, Seen> seen_;
  std::map<std::filesystem::path, OpenDesk> desks_;  // under readings_mutex_
  Works works_;
};

}  // namespace rondure::cli
