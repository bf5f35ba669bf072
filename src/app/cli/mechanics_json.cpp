#include "app/cli/mechanics_json.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace fettle::cli {

using nlohmann::json;

namespace {

json number(double x) { return std::isfinite(x) ? json(x) : json(nullptr); }
json numbers(const std::vector<double>& list) {
  json j = json::array();
  for (double x : list) j.push_back(number(x));
  return j;
}
json vector(const frame::Vec3& v) { return json::array({number(v.x), number(v.y), number(v.z)}); }

json force_json(const study::ForcePicture& p) {
  return {{"tool", p.tool},
          {"operation", p.operation},
          {"words", p.words},
          {"finding", p.finding},
          {"peak", number(p.peak)},
          {"mean", number(p.mean)},
          {"angle", numbers(p.angle)},
          {"hard", {{"feed", numbers(p.feed)}, {"out", numbers(p.out)}, {"up", numbers(p.up)}}},
          {"soft", {{"feed", numbers(p.feed_soft)}, {"out", numbers(p.out_soft)}, {"up", numbers(p.up_soft)}}}};
}

json slip_json(const study::SlipPicture& p) {
  json j = {
      {"operation", p.operation}, {"tool", p.tool},         {"finding", p.finding},     {"words", p.words},
      {"mechanism", p.mechanism}, {"at", vector(p.at)},     {"force", vector(p.force)}, {"factor", number(p.factor)},
      {"slide", vector(p.slide)}, {"turn", vector(p.turn)}, {"contacts", json::array()}};
  for (const study::SlipContact& c : p.contacts)
    j["contacts"].push_back({{"name", c.name},
                             {"at", vector(c.at)},
                             {"normal", vector(c.normal)},
                             {"preload", number(c.preload)},
                             {"used", number(c.used)},
                             {"force", vector(c.force)},
                             {"slips", c.slips}});
  return j;
}

json parts_json(const std::vector<study::JawPart>& parts) {
  json j = json::array();
  for (const study::JawPart& p : parts)
    j.push_back({{"name", p.name},
                 {"force", number(p.force)},
                 {"low", number(p.low)},
                 {"high", number(p.high)},
                 {"loose", number(p.loose)}});
  return j;
}

json jaw_json(const study::JawPicture& p) {
  return {{"operation", p.operation},
          {"finding", p.finding},
          {"words", p.words},
          {"need", number(p.need)},
          {"length", number(p.length)},
          {"at", numbers(p.at)},
          {"parts", parts_json(p.parts)},
          {"cure", p.cure},
          {"cured", parts_json(p.parts_cure)},
          {"bend_at", numbers(p.bend_at)},
          {"bend", numbers(p.bend)}};
}

json lobe_json(const study::LobePicture& p) {
  return {{"tool", p.tool},
          {"nest", p.nest},
          {"words", p.words},
          {"finding", p.finding},
          {"now_speed", number(p.now_speed)},
          {"now_depth", number(p.now_depth)},
          {"better_speed", p.better_speed ? number(*p.better_speed) : json(nullptr)},
          {"speed", numbers(p.speed)},
          {"limit", numbers(p.limit)},
          {"limit_low", numbers(p.limit_low)},
          {"limit_high", numbers(p.limit_high)},
          {"limit_no_damping", numbers(p.limit_no_damping)}};
}

json thickness_json(const study::ThicknessCurve& t) {
  json j = {{"material", t.material}, {"words", t.sentence}, {"now", number(t.now)}, {"points", json::array()}};
  for (const study::ThicknessPoint& p : t.points)
    j["points"].push_back({{"thickness", number(p.thickness)},
                           {"mass", number(p.mass)},
                           {"loaded_mass", number(p.loaded_mass)},
                           {"first", number(p.first)},
                           {"first_low", number(p.first_low)},
                           {"first_high", number(p.first_high)},
                           {"give", number(p.give / 100)},
                           {"give_low", number(p.give_low / 100)},
                           {"give_high", number(p.give_high / 100)},
                           {"stocked", p.stocked}});
  return j;
}

json field_json(const study::PlateField& f, double factor) {
  std::vector<double> value = f.value;
  for (double& x : value) x *= factor;
  return {{"columns", f.columns},       {"rows", f.rows},
          {"left", number(f.left)},     {"bottom", number(f.bottom)},
          {"step_x", number(f.step_x)}, {"step_y", number(f.step_y)},
          {"value", numbers(value)}};
}

json compliance_json(const study::CompliancePicture& p) {
  json j = {
      {"first", number(p.first)},           {"first_low", number(p.first_low)},   {"first_high", number(p.first_high)},
      {"softest", number(p.softest / 100)}, {"softest_x", number(p.softest_x)},   {"softest_y", number(p.softest_y)},
      {"softest_words", p.softest_words},   {"field", field_json(p.field, 0.01)}, {"nests", json::array()}};
  for (const study::NestVerdict& n : p.nests)
    j["nests"].push_back(
        {{"nest", n.nest}, {"text", n.text}, {"finding", n.finding}, {"state", std::string(finding::word(n.state))}});
  return j;
}

json mode_json(const study::ModePicture& m) {
  json j = {{"frequency", number(m.frequency)},
            {"low", number(m.low)},
            {"high", number(m.high)},
            {"words", m.words},
            {"slide_x", number(m.slide_x)},
            {"slide_y", number(m.slide_y)},
            {"spin", number(m.spin)},
            {"field", field_json(m.field, 1)},
            {"parts", json::array()}};
  for (const study::ModePart& p : m.parts)
    j["parts"].push_back(
        {{"nest", p.nest}, {"at", vector(p.at)}, {"shift", vector(p.shift)}, {"turn", vector(p.turn)}});
  return j;
}

json limit_json(const study::NestLimit& n) {
  return {{"operation", n.operation},
          {"tool", n.tool},
          {"nest", n.nest},
          {"words", n.words},
          {"place", n.place},
          {"finding", n.finding},
          {"state", std::string(finding::word(n.state))},
          {"limit", n.state == finding::State::open ? json(nullptr) : number(n.limit)},
          {"asked", number(n.asked)},
          {"far", n.far},
          {"on_radius", n.width},
          {"soft", n.soft},
          {"x", number(n.x)},
          {"y", number(n.y)}};
}

}  // namespace

void add_mechanics(const study::Study& study, json& to) {
  for (const char* name : {"forces", "slips", "jaws", "modes", "nest_limits", "lobes"}) to[name] = json::array();
  for (const study::ForcePicture& p : study.forces) to["forces"].push_back(force_json(p));
  for (const study::SlipPicture& p : study.slips) to["slips"].push_back(slip_json(p));
  for (const study::JawPicture& p : study.jaws)
    if (p.there) to["jaws"].push_back(jaw_json(p));
  for (const study::ModePicture& p : study.modes) to["modes"].push_back(mode_json(p));
  if (study.compliance.there) to["compliance"] = compliance_json(study.compliance);
  if (study.thickness.there) to["thickness"] = thickness_json(study.thickness);
  for (const study::NestLimit& p : study.nest_limits) to["nest_limits"].push_back(limit_json(p));
  for (const study::LobePicture& p : study.lobes) to["lobes"].push_back(lobe_json(p));
}

}  // namespace fettle::cli
