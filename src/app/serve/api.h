#pragma once
// Every route of docs/api.md, apart from pairing, which the network side does.
#include "app/serve/desk.h"
#include "app/serve/reply.h"

namespace fettle::serve {

/// Answers one request. Never throws for what a client sends; waits at most `longest` where a route waits.
Reply answer(Desk& desk, const Asked& asked, std::chrono::milliseconds longest = std::chrono::seconds(20));
/// Does this request change something (and so need the right to write)?
bool writes(const Asked& asked);
/// Does this route take dropped files (multipart) instead of JSON?
bool takes_files(const std::string& path);
/// Does this route wait on purpose?
bool waits(const std::string& path);

}  // namespace fettle::serve
