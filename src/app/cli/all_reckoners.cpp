#include "app/cli/all_reckoners.h"

#include "calc/bore/reckoners.h"
#include "calc/casting/reckoners.h"
#include "calc/chatter/reckoners.h"
#include "calc/cutting/reckoners.h"
#include "calc/holding/reckoners.h"
#include "calc/lifting/reckoners.h"
#include "calc/locating/reckoners.h"
#include "calc/motion/reckoners.h"
#include "calc/practice/reckoners.h"
#include "calc/reach/reckoners.h"
#include "calc/removal/reckoners.h"
#include "calc/run_off/reckoners.h"
#include "calc/seal/reckoners.h"
#include "calc/structure/reckoners.h"
#include "calc/timing/reckoners.h"
#include "calc/tolerance/reckoners.h"
#include "ref/reckoners.h"

namespace fettle::cli {

const std::vector<finding::Reckoner>& all_reckoners() {
  static const std::vector<finding::Reckoner> all = [] {
    std::vector<finding::Reckoner> list;
    for (auto* science :
         {&casting::reckoners, &locating::reckoners, &lifting::reckoners, &tolerance::reckoners, &bore::reckoners,
          &timing::reckoners, &cutting::reckoners, &holding::reckoners, &structure::reckoners, &chatter::reckoners,
          &practice::reckoners, &motion::reckoners, &removal::reckoners, &run_off::reckoners, &reach::reckoners,
          &seal::reckoners, &ref::reckoners})
      for (finding::Reckoner& r : science()) list.push_back(std::move(r));
    return list;
  }();
  return all;
}

}  // namespace fettle::cli
