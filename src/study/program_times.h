#pragma once
// How long the control programs that a plan names run on its machines, tool by tool and nest by nest.
#include <string>
#include <vector>

#include "calc/motion/motion.h"
#include "study/plan_times.h"
#include "study/study.h"

namespace fettle::study {

/// What one program does of one operation.
struct ProgramTiming {
  std::string operation, program, machine;
  double parts = 0;                    ///< that one run makes
  bool parts_said = false;             ///< the plan says how many; else the zeros with cuts are counted
  motion::Result motion;               ///< of one run
  std::vector<motion::Row> tools;      ///< of it, by number
  std::vector<motion::Row> zeros;      ///< of it, by zero
  double low = 1, high = 1;            ///< of the time without tool changes: at both ends of the machine's numbers
  std::vector<std::string> not_here;   ///< tools of the program that the operation has no cut for
  std::vector<std::string> not_there;  ///< tools of the operation that the program never loads
  std::vector<std::string> missing;    ///< why there is no time: what must be given
  std::string source;                  ///< "program op30.nc, motion with jerk 20 m/s³"
  bool ok() const { return missing.empty(); }
};

/// The machine's limits; what is not given is named in `missing`.
motion::Limits motion_limits(const plan::Machine& machine, std::vector<std::string>& missing);
/// The number that programs call a tool: the digits of its id ("T11" is 11); 0 when it has none.
int tool_number(const std::string& id);
/// One program text for one operation of the plan.
ProgramTiming time_program(const plan::Plan& plan, const plan::Operation& operation, const std::string& name,
                           const std::string& text);
/// Every operation that names a program, in the plan's order. A program that was not read is open and says why.
std::vector<ProgramTiming> time_programs(const plan::Plan& plan, const Data& data);

/// Whether a path written in a plan stays within the plan's folder.
bool program_stays_inside(const std::string& path);

/// What plan_times() needs of the programs and of times given by the caller.
std::vector<OperationProgram> operation_programs(const std::vector<ProgramTiming>& timings, const Options& options);

}  // namespace fettle::study
