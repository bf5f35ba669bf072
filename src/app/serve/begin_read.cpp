// What was dropped, read: models, drawing, lists, shop; then the questions that are left.
#include <filesystem>

#include "app/cli/propose.h"
#include "app/serve/drops.h"
#include "base/text.h"
#include "begin/lists/apply.h"
#include "begin/lists/lists.h"
#include "begin/pose_model.h"
#include "begin/propose/questions.h"

namespace fettle::serve {

namespace fs = std::filesystem;

namespace {

struct Lists {
  std::optional<begin::ToolList> tools;
  std::optional<begin::HolderList> holders;
  std::optional<begin::TimeList> times;
};
template <class List>
void read_list(const DroppedFile& f, Outcome<List> (*read)(std::string_view, const std::string&),
               std::optional<List>& into, Problems& problems) {
  if (f.bytes.empty()) return;
  auto list = read(f.bytes, f.name);
  if (list.ok()) into = std::move(list.value());
  else problems.insert(problems.end(), list.problems().begin(), list.problems().end());
}

/// The lists that were dropped: tools and holders fill the shop, which then stands in the new folder; times are taken
/// by every draft. What they say of themselves goes to `said`.
Outcome<bool> take_lists(const DroppedFile& tools, const DroppedFile& holders, const DroppedFile& times,
                         DroppedFile& shop, begin::Scene& scene, std::vector<std::string>& said) {
  Lists l;
  Problems problems;
  read_list(tools, begin::read_tool_list, l.tools, problems);
  read_list(holders, begin::read_holder_list, l.holders, problems);
  read_list(times, begin::read_time_list, l.times, problems);
  if (!problems.empty()) return problems;
  std::vector<begin::Choice> choices;
  if (l.tools || l.holders) {
    const auto filled = begin::fill_shop(scene.shop, shop.bytes, shop.name, l.tools, l.holders);
    if (!filled.ok()) return filled.problems();
    const auto read = cli::shop_of(shop.name + " with its lists", filled->text);
    if (!read.ok()) return read.problems();
    scene.shop = *read, choices = filled->choices;
    said.insert(said.end(), filled->notes.begin(), filled->notes.end());
    shop = {fs::path(shop.name).stem().string() + "-filled.toml", filled->text};
  }
  if (l.times) said.insert(said.end(), l.times->notes.begin(), l.times->notes.end());
  if (choices.empty() && !l.times) return true;
  scene.known = [choices, times = l.times](begin::Draft& d) {
    d.choices.insert(d.choices.begin(), choices.begin(), choices.end());
    if (times) begin::put_times(*times, d);
  };
  return true;
}

}  // namespace

Outcome<ReadDrop> read_drop(const DroppedFiles& f) {
  ReadDrop d;
  const auto model = solid::read_step_text(f.part.bytes, f.part.name);
  if (!model.ok()) return model.problems();
  const auto drawing = begin::read_drawing(f.part.bytes, f.part.name, "");
  if (!drawing.ok()) return drawing.problems();
  if (!f.cast.bytes.empty()) {
    auto raw = solid::read_step_text(f.cast.bytes, f.cast.name);
    if (!raw.ok()) return raw.problems();
    d.cast = std::move(raw.value());
  }
  begin::Options options;
  options.name = f.stem, options.model = f.part.name, options.cast = f.cast.name, options.measured = f.table.name;
  options.inch = model->unit == "in";
  auto begun = begin::begin(*model, *drawing, d.cast ? &*d.cast : nullptr, f.table.bytes, options);
  if (!begun.ok()) return begun.problems();
  d.begun = std::move(begun.value());
  const auto pose = begin::pose_of(*model, options);
  if (!pose.ok()) return pose.problems();
  d.part = begin::posed(*model, *pose);
  if (d.cast) d.cast = begin::posed(*d.cast, *pose);
  const auto read = cli::shop_of(f.shop.name, f.shop.bytes);
  if (!read.ok()) return read.problems();
  d.scene.shop = *read, d.shop = f.shop;
  if (const auto lists = take_lists(f.tools, f.holders, f.times, d.shop, d.scene, d.begun.said); !lists.ok())
    return lists.problems();
  d.scene.shop_path = d.shop.name, d.scene.shop_text = d.shop.bytes;
  d.scene.inch = options.inch;
  if (!f.table.bytes.empty()) d.data.files[f.table.name] = f.table.bytes;
  d.questions = begin::questions(d.begun.plan, d.scene.shop);
  return d;
}

}  // namespace fettle::serve
