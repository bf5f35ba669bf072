#pragma once
// What the routes of the floor share.
#include <string>

#include "app/serve/routes.h"

namespace fettle::serve {

/// The text that `since=HASH` asks to compare with, else the one before this; empty when this server saw none.
std::string text_before(const Call& c, Open& o);

}  // namespace fettle::serve
