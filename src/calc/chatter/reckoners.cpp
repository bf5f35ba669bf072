#include "calc/chatter/reckoners.h"

#include <utility>

#include "calc/chatter/reckoners_floquet.h"
#include "calc/chatter/reckoners_lobes.h"
#include "calc/chatter/reckoners_recordings.h"

namespace fettle::chatter {

std::vector<finding::Reckoner> reckoners() {
  std::vector<finding::Reckoner> all = recording_reckoners();
  for (finding::Reckoner& r : lobe_reckoners()) all.push_back(std::move(r));
  for (finding::Reckoner& r : floquet_reckoners()) all.push_back(std::move(r));
  return all;
}

}  // namespace fettle::chatter
