#include "app/cli/report.h"

#include <algorithm>
#include <iostream>

namespace fettle::cli {

int report(const Problems& problems) {
  int code = 0;
  for (const Problem& p : problems) {
    std::cerr << say(p) << "\n";
    code = std::max(code, p.fault == Fault::bad_input ? 2 : 3);
  }
  if (problems.size() > 1) std::cerr << problems.size() << " problems\n";
  return code;
}

}  // namespace fettle::cli
