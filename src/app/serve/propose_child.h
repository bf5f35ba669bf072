#pragma once
// Whole plans are proposed in a child of this program (the same executable, started with a hidden first argument): a
// crash, a flood of memory or a search without end there is a sentence on the page, and everybody else works on.
#include "app/serve/desk.h"
#include "begin/propose/propose.h"

namespace fettle::serve {

/// Early in main(): -1 in an ordinary run, else the exit code of the child.
int maybe_propose_child(int argc, char** argv);

/// The proposals of what was dropped, with these answers; tells the job how far it is, and ends when that is stopped.
Reply propose_in_child(Desk& desk, Dropped& dropped, const begin::Answers& answers, Job& job);

}  // namespace fettle::serve
