#include "app/cli/lists.h"

#include <filesystem>

#include "app/cli/propose.h"
#include "base/text.h"
#include "begin/lists/apply.h"
#include "begin/lists/lists.h"

namespace fettle::cli {

namespace {

/// The list of this path, or nothing; its problems go to `problems`.
template <class List>
std::optional<List> list_of(const std::string& path, Outcome<List> (*read)(std::string_view, const std::string&),
                            Problems& problems) {
  if (path.empty()) return {};
  const auto text = base::read_file(path, std::size_t{64} << 20U);
  if (!text.ok()) {
    problems.insert(problems.end(), text.problems().begin(), text.problems().end());
    return {};
  }
  auto list = read(*text, path);
  if (list.ok()) return std::move(list.value());
  problems.insert(problems.end(), list.problems().begin(), list.problems().end());
  return {};
}

/// "plans/plan.toml" -> "plans/plan-shop.toml".
std::filesystem::path filled_path(const std::string& into) {
  const std::filesystem::path p(into);
  return p.parent_path() / (p.stem().string() + "-shop" + p.extension().string());
}

}  // namespace

Outcome<bool> take_lists(const BeginArguments& a, begin::Scene& scene, std::vector<std::string>& said) {
  if (a.tools.empty() && a.holders.empty() && a.times.empty()) return true;
  Problems problems;
  const auto tools = list_of(a.tools, begin::read_tool_list, problems);
  const auto holders = list_of(a.holders, begin::read_holder_list, problems);
  const auto times = list_of(a.times, begin::read_time_list, problems);
  if (!problems.empty()) return problems;
  std::vector<begin::Choice> choices;
  if (tools || holders) {
    if (a.into.empty())
      return bad("tools and holders of lists go into a shop file beside the plan", {}, "--into with the plan's file");
    std::error_code error;
    for (const std::string* input : {&a.model, &a.shop, &a.tools, &a.holders, &a.times})
      if (!input->empty() && std::filesystem::equivalent(*input, filled_path(a.into), error) && !error)
        return bad("the filled shop file would be written over what it is read from", *input, "another name");
    if (std::filesystem::exists(filled_path(a.into)) && !a.over)
      return bad("the filled shop file is there already", filled_path(a.into).string(), "another name, or --over");
    auto filled = begin::fill_shop(scene.shop, scene.shop_text, a.shop, tools, holders);
    if (!filled.ok()) return filled.problems();
    auto shop = shop_of(a.shop + " with its lists", filled->text);
    if (!shop.ok()) return shop.problems();
    scene.shop = std::move(shop.value()), scene.shop_text = filled->text;
    scene.shop_path = filled_path(a.into).filename().string();
    choices = filled->choices, said = filled->notes;
  }
  if (times) said.insert(said.end(), times->notes.begin(), times->notes.end());
  scene.known = [choices, times](begin::Draft& d) {
    d.choices.insert(d.choices.begin(), choices.begin(), choices.end());
    if (times) begin::put_times(*times, d);
  };
  return true;
}

Outcome<bool> write_filled_shop(const BeginArguments& a, const begin::Scene& scene) {
  if (a.tools.empty() && a.holders.empty()) return true;
  return base::write_file(filled_path(a.into).string(), scene.shop_text);
}

}  // namespace fettle::cli
