#pragma once
// What lists do: tools and holders fill the shop, stopwatch times replace what a proposal worked out.
#include <optional>
#include <string>
#include <vector>

#include "begin/lists/lists.h"
#include "begin/propose/propose.h"

namespace fettle::begin {

/// A shop with what its lists say.
struct FilledShop {
  std::string text;             ///< the shop file with it; every new line says its list and line
  std::vector<Choice> choices;  ///< one a tool that a list gave something
  std::vector<std::string> notes;
};
/// `text` is the shop file of `shop`, `path` its name for messages. Only what the shop file lacks is filled in; tools
/// that it does not have are added. Problems: a list that says another value than the shop file or another list, a new
/// tool without kind or diameter, holders and tools that nobody knows.
Outcome<FilledShop> fill_shop(const plan::Shop& shop, const std::string& text, const std::string& path,
                              const std::optional<ToolList>& tools, const std::optional<HolderList>& holders);

/// Puts the times into the operations and cuts of a draft, each said as a choice; what finds no place is said among
/// what a practitioner may see otherwise. Several readings of one time give their mean and their range.
void put_times(const TimeList& times, Draft& draft);

}  // namespace fettle::begin
