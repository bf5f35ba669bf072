#pragma once
// Spoils STEP texts the same way every time: the same seed text and number give the same bytes on every machine.
#include <cstdint>
#include <string>
#include <string_view>

namespace fettle::fuzz {

/// One spoilt copy of `seed_text`: bytes, tokens, lines, references, truncation, nesting, long lists, odd numbers and
/// encodings, chosen by `number`. Numbers 0, 1, 2, ... cycle through the kinds of damage; most results differ from
/// the seed in few places, some in many.
std::string mutate(std::string_view seed_text, std::uint64_t number);

/// What was done to mutant `number`, for messages.
std::string_view kind_of_mutant(std::uint64_t number);

}  // namespace fettle::fuzz
