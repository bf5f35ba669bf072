// Cuts of a plan as the rules of the trade see them.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "study/practice_model.h"

namespace fettle::study::rules {

using frame::Vec3;
using practice::Pass;
using practice::Shape;
using practice::ToolKind;

namespace {

ToolKind tool_kind(const plan::Tool* t) {
  if (t == nullptr) return ToolKind::unknown;
  static const std::map<std::string, ToolKind> kinds = {{"end mill", ToolKind::end_mill},
                                                        {"face mill", ToolKind::face_mill},
                                                        {"drill", ToolKind::drill},
                                                        {"reamer", ToolKind::reamer},
                                                        {"tap", ToolKind::tap},
                                                        {"thread mill", ToolKind::thread_mill},
                                                        {"boring tool", ToolKind::boring},
                                                        {"keyseat cutter", ToolKind::keyseat},
                                                        {"chamfer", ToolKind::chamfer},
                                                        {"probe", ToolKind::probe}};
  const auto it = kinds.find(t->kind.value);
  return it == kinds.end() ? ToolKind::unknown : it->second;
}

Pass pass_of(const plan::Text& kind, ToolKind tool) {
  static const std::map<std::string, Pass> passes = {
      {"rough", Pass::rough},     {"finish", Pass::finish}, {"rough and finish", Pass::rough_and_finish},
      {"drill", Pass::drill},     {"ream", Pass::ream},     {"tap", Pass::tap},
      {"chamfer", Pass::chamfer}, {"bore", Pass::bore},     {"groove", Pass::groove},
      {"probe", Pass::probe}};
  if (const auto it = passes.find(kind.value); kind.known() && it != passes.end()) return it->second;
  switch (tool) {
    case ToolKind::drill:
      return Pass::drill;
    case ToolKind::reamer:
      return Pass::ream;
    case ToolKind::tap:
    case ToolKind::thread_mill:
      return Pass::tap;
    case ToolKind::chamfer:
      return Pass::chamfer;
    case ToolKind::probe:
      return Pass::probe;
    case ToolKind::keyseat:
      return Pass::groove;
    default:
      return Pass::unknown;
  }
}

practice::Exit exit_of(const plan::Text& words) {
  using practice::Exit;
  if (words.value == "into stock") return Exit::into_stock;
  if (words.value == "broken edge") return Exit::edge_broken;
  if (words.value == "rolls out") return Exit::rolls_out;
  return words.value == "sharp edge" ? Exit::sharp : Exit::unknown;
}

/// The plan's number that says how deep the cut goes into this surface: the width beside it, the depth on it.
const plan::Number* into_surface(const plan::Cut& c, const Known& k, Vec3 up) {
  if (k.s.round || k.f.shape == Shape::groove || k.f.shape == Shape::pocket || k.f.shape == Shape::thread)
    return k.f.shape == Shape::bore && c.width.known() ? &c.width : nullptr;
  if (!k.s.there || up == Vec3{}) return nullptr;
  return std::fabs(frame::dot(k.s.normal, up)) > 0.5 ? &c.depth : &c.width;
}

/// What a rough cut leaves: as said, or what the next cut on the same feature in this operation takes.
std::optional<double> leaves_of(const plan::Operation& o, std::size_t at, const Known& k, Vec3 up) {
  if (o.cuts[at].stock.known()) return o.cuts[at].stock.si;
  for (std::size_t i = at + 1; i < o.cuts.size(); ++i)
    for (const std::string& r : o.cuts[i].features.value) {
      const std::string id = id_of(r);
      if (id != k.f.id && id != k.source->id.value) continue;
      const plan::Number* n = into_surface(o.cuts[i], k, up);
      if (n != nullptr && n->known()) return n->si;
      return {};
    }
  return {};
}

/// Surfaces over whose edge a mill leaves for certain: round a plane that it crosses. A profile is run round, a pocket
/// is left upwards.
std::vector<std::string> leaves_over(const std::vector<Known>& all, const Known& k, ToolKind tool, Vec3 up) {
  std::vector<std::string> out;
  if ((tool != ToolKind::face_mill && tool != ToolKind::end_mill) || k.source->kind.value != "face" ||
      !outside_face(k.f))
    return out;
  const bool on_top = std::fabs(frame::dot(k.s.normal, up)) > 0.5;
  for (const std::string& id : k.f.edges_on) {
    const Known* g = find(all, id);
    if (g != nullptr && (on_top || std::fabs(frame::dot(g->s.normal, up)) < 0.5)) out.push_back(id);
  }
  return out;
}

}  // namespace

void add_cuts(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
              practice::Operation& out) {
  const Vec3 up = o.up.known() ? direction(o.up.value) : Vec3{};
  std::set<std::string> done;
  for (std::size_t i = 0; i < o.cuts.size(); ++i) {
    const plan::Cut& c = o.cuts[i];
    const plan::Tool* tool = plan::find_tool(plan, c.tool.value);
    practice::Cut cut;
    cut.tool = c.tool.value;
    cut.kind = tool_kind(tool);
    cut.pass = pass_of(c.kind, cut.kind);
    cut.exit = exit_of(c.exit);
    if (cut.kind == ToolKind::tap && tool->forms.known()) cut.forms = tool->forms.value;
    std::vector<practice::Cut> groups;
    for (const std::string& r : c.features.value)
      for (const std::string& id : ids_of(plan, r)) {
        const Known* k = find(all, id);
        if (k == nullptr) continue;
        if (cut.pass != Pass::chamfer && cut.pass != Pass::probe) done.insert(id);
        practice::Cut one = cut;
        if (const plan::Number* n = into_surface(c, *k, up); n != nullptr && n->known()) {
          if (n->banded()) one.least_depth = n->low;
          one.pass_depth = n->banded() ? n->high : n->si;
        }
        if (cut.pass == Pass::rough) one.leaves = leaves_of(o, i, *k, up);
        one.leaves_over = leaves_over(all, *k, cut.kind, up);
        // Features that the cut treats alike stay together, so that it is one cut for the rules as well.
        const auto same = std::find_if(groups.begin(), groups.end(), [&](const practice::Cut& g) {
          return g.least_depth == one.least_depth && g.pass_depth == one.pass_depth && g.leaves == one.leaves &&
                 g.leaves_over == one.leaves_over;
        });
        if (same == groups.end()) groups.push_back(std::move(one)), groups.back().features = {id};
        else same->features.push_back(id);
      }
    if (groups.empty()) groups.push_back(cut);
    for (practice::Cut& g : groups) out.cuts.push_back(std::move(g));
  }
  practice::Cut rest;  // what the operation makes and no cut names
  const bool grind = o.kind.value == "grind", hone = o.kind.value == "hone";
  rest.kind = grind ? ToolKind::wheel : hone ? ToolKind::hone : ToolKind::unknown;
  rest.pass = grind ? Pass::grind : hone ? Pass::hone : Pass::unknown;
  for (const std::string& r : o.makes.value)
    for (const std::string& id : ids_of(plan, r))
      if (done.insert(id).second) rest.features.push_back(id);
  if (!rest.features.empty()) out.cuts.push_back(std::move(rest));
}

}  // namespace fettle::study::rules
