#pragma once
// The commands that need a plan. Each returns the exit code: 0 all inside or tight, 1 something outside, 2 bad input, 3
// our fault, 4 nothing outside but something open or beyond.
#include <string>
#include <vector>

#include "study/levers.h"

namespace fettle::cli {

/// Threads to use where nobody says how many: one a core, at most 16.
int cores();
struct StudyArguments {
  std::string plan, into;
  bool json = false, all = false, quick = false;
  int seed = -1, threads = cores();
};
int study_command(const StudyArguments& arguments);
int explain_command(const std::string& plan, const std::string& finding);
int diff_command(const std::string& a, const std::string& b, bool quick);
int rewrite_command(const std::string& plan, const std::string& into, bool over);
int uses_command(const std::string& file, const std::string& folder);
/// Hours a week of a shop over several plans (files, or folders searched for plans with a demand): 1 when a machine or
/// the people need more than is there, 4 when something is missing.
int shop_command(const std::vector<std::string>& plans);

struct BeginArguments {
  std::string model, cast, measured, into, up, origin, unit, units;
  std::string shop, answers;          ///< with a shop file whole plans are proposed
  std::string tools, holders, times;  ///< lists as CSV that say more of the shop
  std::string raw;                    ///< STEP file to write: the raw casting of the first plan
  bool over = false, questions = false, json = false;
  int threads = cores(), seed = 1;
};
int begin_command(const BeginArguments& arguments);
struct LeversArguments {
  std::string plan, finding;
  bool json = false;
  int count = 12, threads = cores();
};
int levers_command(const LeversArguments& arguments);
/// What `fettle levers --json` prints.
std::string levers_json(const study::Levers& levers);
struct SampleArguments {
  std::string plan;
  int part = 0, seed = -1;
  bool json = false;
};
int sample_command(const SampleArguments& arguments);
struct ListenArguments {
  std::string file, tool, speed, plan;
  int teeth = 0;
  bool json = false;
};
/// What a recording says: of a tap, or (with speed and teeth) of a cut: 0 no chatter, 1 it chatters.
int listen_command(const ListenArguments& arguments);
int demo_models_command(const std::string& folder);

}  // namespace fettle::cli
