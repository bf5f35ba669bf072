#pragma once
// Values that a program of ours carries in its remarks, so that it can be read, timed and proven before anything is
// measured in the machine. They are examples, never a setting for the machine.
#include <string_view>

#include "program/read.h"

namespace fettle::program {

/// The setting with what the text's remarks say, several with commas between: "on paper #504 = 3763" (a parameter, in
/// the program's own unit) and "on paper H11 = 150 mm" (a tool length), "on paper touch 1 -71.125 0 17.95 mm" (where
/// the first probing move touches, in its frame; mm or in). What the setting knows already stays. A text without such
/// remarks changes nothing. A line that cannot be read is passed over. The touches are counted from reading to reading:
/// not for several readings at the same time.
Setting on_paper(std::string_view text, Setting setting);

}  // namespace fettle::program
