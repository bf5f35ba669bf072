#include "calc/chatter/reckoners.h"

#include "calc/chatter/reckoners_recordings.h"

namespace fettle::chatter {

std::vector<finding::Reckoner> reckoners() { return recording_reckoners(); }

}  // namespace fettle::chatter
