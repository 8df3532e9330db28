// What `rondure original` is asked on the command line, and what the files of one idea make of it.
#pragma once
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/record/part_facts.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {

struct OriginalArguments {
  CommonOptions common;
  std::vector<std::string> parts;
  std::string sizes, shrinkage, grids, crack_gap, shape, about;
  double metric_prior = 0.5;
  std::string confidence = "80%";
  std::string mating, mating_turns, belt, ratio, surface_speed, turns, drive;
  std::vector<std::string> evidence, worn, on_metal, could_measure, same_drawing, ties;
  std::string learn;
  bool materials = false, all = false, own_batches = false;
  PartFacts facts;
};

Error in_option(const char* option, const Error& error);

// original_options.cpp
Result<OriginalOptions> read_options(const OriginalArguments& arguments);
// The features that the options name: one part's, or those of any part of a set, "PART:NAME" where one is meant.
std::vector<std::string> named_features(const OriginalArguments& arguments, const OriginalOptions& read);

// original_grids.cpp: the built-in grids when there is no file.
Result<SizeGrids> read_grids(const std::string& file);
// Writes what the metal sizes teach of the designer's grids; `grids_file`: the prior.
Result<void> learn(const std::vector<OriginalResult>& parts, const std::string& file,
                   const std::string& grids_file);

// original_sizes.cpp
Result<std::vector<SizeObservation>> sizes_from_file(const std::string& file, LengthUnit bare);
Result<void> put_on_metal(std::vector<SizeObservation>& sizes, const std::vector<std::string>& names);
// A record made from sizes typed by hand, so that a plan and a page can follow.
PartRecord record_of(const std::vector<SizeObservation>& sizes, const std::string& file);
// Into the record on disk: its other features stay; one of the same name that was measured otherwise is never
// replaced by a typed size. `replaced`: an answer stood there.
Result<void> add_to_record(const std::string& file, const PartRecord& made, bool& replaced);
// In place of the record on disk; refused (kFileLocked) where that is no longer the one that was read.
// `as_read`: its text then; empty: it was not read from a file.
Result<void> save_unless_changed(const std::string& file, const PartRecord& record,
                                 const std::string& as_read);

}  // namespace rondure::cli
