#pragma once
// Small text helpers: locale-free numbers, nearest words, atomic writing.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::base {

std::string_view trim(std::string_view s);
std::vector<std::string> split(std::string_view s, char separator);
std::string join(std::span<const std::string> parts, std::string_view separator);
std::string lower(std::string_view ascii);
bool starts_with(std::string_view s, std::string_view head);

/// Reads a whole text as a double by std::from_chars ("." decimal point, optional sign; no blanks, hex, inf or nan).
std::optional<double> to_double(std::string_view s);

/// Shortest text that reads back to the same double; integers without ".0".
std::string shortest(double x);

/// A fixed number of decimals, correctly rounded, never "-0.000".
std::string fixed(double x, int decimals);

/// A hex float ("0x1.8p+1") that names the bits, for comparisons between builds.
std::string hex_float(double x);

/// The candidate nearest to `word` by edit distance (swaps count one), empty when none is near enough to be meant.
std::string nearest(std::string_view word, std::span<const std::string> candidates);

/// Number of Unicode code points, and the byte offset of code point n (clamped to the end).
std::size_t code_points(std::string_view utf8);
std::size_t byte_of_code_point(std::string_view utf8, std::size_t n);
bool valid_utf8(std::string_view s);

/// 128-bit XXH3 of the bytes as 32 hex digits: names plans, inputs and tables (not a signature against forgery).
std::string hash_hex(std::string_view bytes);

/// Whole file as bytes; refuses folders, and files above `limit` bytes.
Outcome<std::string> read_file(const std::string& path, std::size_t limit = std::size_t{512} << 20);

/// Writes through a temporary file beside the target, syncs, renames: the target is whole or untouched.
Outcome<bool> write_file(const std::string& path, std::string_view bytes);

/// Removes the temporary file that write_file has open at this moment, if any. Safe to call from a signal handler.
void drop_temporary_file();

}  // namespace fettle::base
