// The 3-D scene of an operation: what stands where, with the part's own surfaces named by their features.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "app/serve/face_match.h"
#include "app/serve/plan_models.h"
#include "app/serve/routes.h"
#include "app/serve/scene_mesh.h"
#include "base/text.h"
#include "plan/read.h"
#include "study/plate_model.h"

namespace fettle::serve {

using frame::Vec3;
using nlohmann::json;

namespace {

constexpr std::size_t most_kept = 8;

json point(Vec3 p) {
  const auto micron = [](double x) { return std::isfinite(x) ? std::round(x * 1e6) / 1e6 + 0.0 : 0.0; };
  return {micron(p.x), micron(p.y), micron(p.z)};
}

void append(std::string& out, double x) {
  const double r = std::round(x * 1e6) / 1e6;
  fmt::format_to(std::back_inserter(out), "{:.6g},", std::isfinite(r) ? r + 0.0 : 0.0);
}
void close(std::string& out) {
  if (out.back() == ',') out.pop_back();
  out += ']';
}

/// {points, faces, feature, names} and, beside it, edges and stock: text, since these lists are long.
std::string text_of(const Mantle& m, const frame::Pose& pose, const plan::Plan& plan) {
  std::string t = "\"triangles\":{\"points\":[";
  for (const Vec3& v : m.points) {
    const Vec3 p = pose * v;
    append(t, p.x), append(t, p.y), append(t, p.z);
  }
  close(t);
  t += ",\"faces\":[";
  for (const auto& f : m.faces) t += fmt::format("{},{},{},", f[0], f[1], f[2]);
  close(t);
  std::map<int, int> place;
  json names = json::array();
  t += ",\"feature\":[";
  for (const int f : m.feature) {
    if (f >= 0 && place.emplace(f, static_cast<int>(names.size())).second)
      names.push_back(plan.features[static_cast<std::size_t>(f)].id.value);
    t += fmt::format("{},", f < 0 ? -1 : place[f]);
  }
  close(t);
  t += ",\"names\":" + dump(names) + "},\"edges\":[";
  for (const auto& e : m.edges) {
    t += '[';
    for (const Vec3& v : e) {
      const Vec3 p = pose * v;
      append(t, p.x), append(t, p.y), append(t, p.z);
    }
    close(t);
    t += ',';
  }
  close(t);
  if (m.stock.empty()) return t;
  t += ",\"stock\":[";
  for (const double x : m.stock) append(t, x);
  close(t);
  return t;
}

void move(Mantle& m, Vec3 by) {
  for (Vec3& p : m.points) p = p + by;
  for (auto& e : m.edges) e = {e[0] + by, e[1] + by};
}

struct Bodies {
  Mantle part, casting;
  bool from_model = false;
};

Bodies bodies_of(const Folder& folder, Open& o, const plan::Plan& plan, std::vector<std::string>& notes) {
  Bodies b;
  const ModelPtr part = model_of(folder, o, plan.part.model, notes);
  const ModelPtr cast = model_of(folder, o, plan.casting.model, notes);
  const Matched found = part != nullptr ? matched(plan, *part) : Matched{};
  const Vec3 by = found.by;
  if (part != nullptr) {
    b.part = mantle_of(*part, found.features);
    move(b.part, by);
    b.from_model = true;
    if (frame::norm(by) > 0)
      notes.push_back(plan.part.model.value + ": moved so that it stands where the plan's part does");
    if (std::all_of(b.part.feature.begin(), b.part.feature.end(), [](int f) { return f < 0; }))
      notes.push_back(plan.part.model.value + ": none of the plan's features lies on it");
  } else {
    b.part = outline_of(plan);
    if (b.part.faces.empty()) notes.emplace_back("part.size: without it and without a model there is nothing to draw");
  }
  if (cast != nullptr && b.from_model) {
    b.casting = mantle_of(*cast, std::vector<int>(cast->faces.size(), -1));
    move(b.casting, by);
    if (b.casting.points.size() * b.part.faces.size() < 400'000'000) weigh_stock(b.casting, b.part);
    else notes.push_back(plan.casting.model.value + ": too fine for the metal on it to be worked out here");
  }
  return b;
}

/// Raw block by the casting's sizes between opposite sides.
json raw_of(const plan::Plan& plan, const frame::Pose& pose) {
  if (plan.part.size.value.size() != 3) return nullptr;
  Vec3 size{plan.part.size.value[0], plan.part.size.value[1], plan.part.size.value[2]};
  bool any = false;
  for (const plan::CastSize& s : plan.casting.sizes) {
    if (!s.raw.known() || s.between.value.size() != 2) continue;
    const auto side = study::surface_of(plan, s.between.value[0]);
    const auto other = study::surface_of(plan, s.between.value[1]);
    if (!side.there || !other.there || side.round || other.round) continue;
    if (!(frame::dot(side.normal, other.normal) < -0.99)) continue;
    any = true;
    if (std::fabs(side.normal.x) > 0.99) size.x = s.raw.si;
    if (std::fabs(side.normal.y) > 0.99) size.y = s.raw.si;
    if (std::fabs(side.normal.z) > 0.99) size.z = s.raw.si;
  }
  if (!any) return nullptr;
  const Vec3 v = frame::rotate(pose, size);
  return {{"size", point({std::fabs(v.x), std::fabs(v.y), std::fabs(v.z)})}};
}

const plan::Operation* operation_of(const plan::Plan& plan, const std::string& id) {
  if (!id.empty()) return plan::find_operation(plan, id);
  for (const plan::Operation& o : plan.operations)
    if (o.kind.value == "pallet") return &o;
  for (const plan::Operation& o : plan.operations)
    if (!o.locators.empty()) return &o;
  return plan.operations.empty() ? nullptr : &plan.operations.front();
}

/// Pallet frame: the plate and what is in it.
void add_plate(json& out, const plan::Plan& plan) {
  const plan::Pallet& p = plan.pallet;
  const auto& size = p.plate.size.value;
  out["plate"] = nullptr;
  if (size.size() == 3) {
    out["plate"] = {{"size", point({size[0], size[1], size[2]})}};
    json outline = json::array();
    for (const Vec3& at : p.plate.outline.value) outline.push_back(point(at));
    if (!outline.empty()) out["plate"]["outline"] = outline;
  }
  for (const plan::Anchor& a : p.anchors)
    for (const Vec3& at : a.at.value) {
      json x = {{"at", point(at)}};
      if (a.patch.known()) x["diameter"] = a.patch.si;
      out["anchors"].push_back(x);
    }
  // Pockets, ribs and holes stand in front of what the run-offs make.
  std::size_t own = 0;
  for (const auto* list : {&p.pockets, &p.ribs, &p.holes})
    for (const plan::Relief& r : *list) own += r.at.value.size();
  const auto reliefs = study::plate_reliefs(plan);
  for (std::size_t i = 0; i < reliefs.size(); ++i) {
    const auto& r = reliefs[i];
    if (r.through && r.round) {
      out["holes"].push_back({{"at", point({r.x, r.y, 0})}, {"diameter", r.diameter}});
      continue;
    }
    json x = {{"at", point({r.x, r.y, std::max(0.0, -r.depth)})},
              {"size", point({r.round ? r.diameter : r.size_x, r.round ? r.diameter : r.size_y, std::fabs(r.depth)})},
              {"turn", r.turn},
              {"round", r.round}};
    out[i >= own ? "run_off" : r.depth < 0 ? "ribs" : "pockets"].push_back(x);
  }
}

/// Nest frame: pins, screws and pads of every nest.
void add_nest_things(json& out, const plan::Plan& plan, const frame::Pose& pose) {
  const plan::Pallet& p = plan.pallet;
  for (const plan::Pin& pin : p.pins) {
    const plan::Reference r = plan::parse_reference(pin.in.value);
    const plan::Feature* f = plan::find_feature(plan, r.id);
    if (f == nullptr || f->at.value.empty()) continue;
    const auto i = static_cast<std::size_t>(std::clamp(r.index - 1, 0, static_cast<int>(f->at.value.size()) - 1));
    Vec3 at = pose * f->at.value[i];
    at.z = 0;  // pins stand in the plate
    const plan::Limits& d = pin.diameter.known() ? pin.diameter : pin.land;
    const double wide = d.value.upper.value_or(d.value.nominal.value_or(0));
    json x = {{"at", point(at)}, {"diameter", wide}, {"kind", pin.kind.value}, {"of", "nest"}, {"feature", r.id}};
    if (pin.height.known()) x["height"] = pin.height.si;
    if (pin.id.known()) x["id"] = pin.id.value;
    out["pins"].push_back(x);
  }
  for (const plan::NestScrew& s : p.screws) {
    const plan::Feature* f = plan::find_feature(plan, s.through.value);
    for (Vec3 at : f != nullptr ? f->at.value : s.at.value) {
      double top = 0;
      if (f != nullptr && f->from.known() && f->to.known()) {
        const Vec3 n = study::direction(f->normal.value);
        const Vec3 axis = f->normal.known() ? Vec3{std::fabs(n.x), std::fabs(n.y), std::fabs(n.z)} : Vec3{0, 0, 1};
        at = at - frame::dot(at, axis) * axis;
        top = std::max((pose * (at + f->from.si * axis)).z, (pose * (at + f->to.si * axis)).z);
      }
      Vec3 there = pose * at;
      there.z = top;
      const double head = s.head.known() ? s.head.si : 2 * s.thread.value.major;  // as the drawings have it
      out["screws"].push_back({{"at", point(there)},
                               {"thread", s.thread.value.typed},
                               {"head", head},
                               {"of", "nest"},
                               {"feature", s.through.value}});
    }
  }
  for (const plan::Pad& pad : p.pads)
    for (const Vec3& at : pad.at.value) {
      json x = {{"at", point(pose * at)}, {"of", "nest"}};
      if (pad.diameter.known()) x["diameter"] = pad.diameter.si;
      if (pad.height.known()) x["height"] = pad.height.si;
      out["pads"].push_back(x);
    }
}

/// Nest frame: rests, stops and clamps of an operation that has no pallet.
void add_contacts(json& out, const plan::Plan& plan, const plan::Operation& o, const frame::Pose& pose) {
  for (const plan::Locator& l : o.locators) {
    const auto s = study::surface_of(plan, l.on.value);
    for (const Vec3& at : l.at.value) {
      json x = {{"at", point(pose * at)}, {"kind", l.kind.value}, {"on", l.on.value}, {"of", "nest"}};
      if (s.there && !s.round) x["normal"] = point(frame::rotate(pose, s.normal));
      out["contacts"].push_back(x);
    }
  }
  for (const plan::Clamp& c : o.clamps)
    for (const Vec3& at : c.at.value)
      out["contacts"].push_back({{"at", point(pose * at)},
                                 {"kind", c.kind.value},
                                 {"on", c.on.value},
                                 {"of", "nest"},
                                 {"normal", point(-frame::rotate(pose, study::direction(c.direction.value)))},
                                 {"clamps", true}});
}

std::string scene_text(const Folder& folder, Open& o, const plan::Plan& plan, const plan::Operation* op,
                       const std::string& hash) {
  std::vector<std::string> notes;
  json out = {{"units", "m"}, {"operation", op != nullptr ? op->id.value : ""}, {"hash", hash}};
  for (const char* key : {"nests", "pins", "screws", "pads", "anchors", "run_off", "pockets", "ribs", "holes"})
    out[key] = json::array();
  out["contacts"] = json::array();
  out["plate"] = nullptr;
  const Bodies bodies = bodies_of(folder, o, plan, notes);
  frame::Pose pose = lying(op != nullptr && op->up.known() ? op->up.value : "+z");
  const bool pallet = op != nullptr && op->kind.value == "pallet" && study::nest_count(plan) > 0;
  if (pallet) {
    add_plate(out, plan);
    pose.t.z = study::on_pallet(plan, 0, {}).z;
    int number = 0;
    for (const plan::Nest& n : plan.pallet.nests)
      for (const Vec3& at : n.at.value)
        out["nests"].push_back({{"id", std::to_string(++number)},
                                {"at", point({at.x, at.y, 0})},
                                {"turn", n.turn.known() ? n.turn.si : 0.0}});
    add_nest_things(out, plan, pose);
  } else {
    double low = 0;
    for (std::size_t i = 0; i < bodies.part.points.size(); ++i) {
      const double z = (pose * bodies.part.points[i]).z;
      low = i == 0 ? z : std::min(low, z);
    }
    pose.t.z = -low;
    out["nests"].push_back({{"id", "1"}, {"at", {0, 0, 0}}, {"turn", 0.0}});
    if (op != nullptr) add_contacts(out, plan, *op, pose);
  }
  out["raw"] = raw_of(plan, pose);
  out["notes"] = notes;
  std::string text = dump(out);
  text.pop_back();
  json part = nullptr;
  if (!bodies.part.faces.empty()) {
    const auto& s = plan.part.size.value;
    const Vec3 size = s.size() == 3 ? frame::rotate(pose, {s[0], s[1], s[2]}) : Vec3{};
    part = {{"size", point({std::fabs(size.x), std::fabs(size.y), std::fabs(size.z)})},
            {"corner", plan.part.corner_radius.known() ? plan.part.corner_radius.si : 0.0},
            {"drawn", bodies.from_model ? "model" : "outline"}};
    std::string whole = dump(part);
    whole.pop_back();
    text += ",\"part\":" + whole + "," + text_of(bodies.part, pose, plan) + "}";
  } else {
    text += ",\"part\":null";
  }
  if (bodies.casting.faces.empty()) text += ",\"casting\":null";
  else text += ",\"casting\":{" + text_of(bodies.casting, pose, plan) + "}";
  return text + "}";
}

}  // namespace

Reply scene(const Call& c) {
  const auto o = c.desk.open(c.asked["path"]);
  if (!o.ok()) return refused(o.problems(), c.root());
  const std::string text = Desk::now(**o).first;
  const auto plan = read_within(c.desk.folder(), (*o)->full, text);
  if (!plan.ok()) return refused(plan.problems(), c.root());
  const std::string id = c.asked["operation"];
  const plan::Operation* op = operation_of(*plan, id);
  if (op == nullptr && !id.empty()) {
    std::vector<std::string> ids;
    for (const plan::Operation& x : plan->operations) ids.push_back(x.id.value);
    return refused({bad("no operation of this plan has that id", id, "an id of the plan", base::nearest(id, ids))}, "",
                   404);
  }
  const std::lock_guard<std::mutex> one((*o)->scene_lock);
  const std::string key =
      plan->hash + " " + (op != nullptr ? op->id.value : "") + "\n" + key_of_data(*plan, (*o)->full);
  auto& kept = (*o)->scenes;
  if (const auto it = kept.find(key); it != kept.end()) return {200, "application/json; charset=utf-8", it->second};
  if (kept.size() >= most_kept) kept.clear();
  return {200, "application/json; charset=utf-8",
          kept[key] = scene_text(c.desk.folder(), **o, *plan, op, base::hash_hex(text))};
}

}  // namespace fettle::serve
