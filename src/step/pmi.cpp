#include "step/pmi.h"

#include <fmt/core.h>

#include <cmath>

#include "base/text.h"
#include "step/pmi_reader.h"

namespace fettle::step {
namespace {

// More than this is no drawing; it bounds the work on a hostile file.
constexpr std::size_t most_items = 200'000;

bool near(double a, double b) { return std::fabs(a - b) <= 1e-9 * std::fabs(b); }

}  // namespace

Outcome<Pmi> PmiReader::run() {
  pmi_.units = find_units();
  if (given_ && pmi_.units.length && !near(*given_, *pmi_.units.length))
    return bad("the file states its own length unit", fmt::format("{} m", base::shortest(*given_)),
               pmi_.units.length_name + " as in the file");
  if (given_ && !(*given_ > 0 && *given_ < 1e6))
    return bad("a length unit must be above zero", base::shortest(*given_));
  if (given_) {
    pmi_.units.length = given_;
    pmi_.units.length_name = length_name(*given_, "as given");
  }
  const std::size_t items = f_.all("GEOMETRIC_TOLERANCE").size() + f_.all("DIMENSIONAL_SIZE").size() +
                            f_.all("DIMENSIONAL_LOCATION").size() + f_.all("DATUM").size();
  if (items > most_items) return bad(fmt::format("more than {} sizes and tolerances in one file", most_items));
  dimensions();
  datums();
  tolerances();
  circles();
  thread_texts();
  if (exhausted()) return bad("the links between sizes and faces are too many to follow");
  return std::move(pmi_);
}

void PmiReader::circles() {
  std::map<std::uint64_t, std::vector<std::uint64_t>> bound;
  for (const Dimension& d : pmi_.dimensions)
    for (const Binding& b : d.ends)
      for (auto s : b.sets) bound[s].push_back(d.entity);
  for (const Tolerance& t : pmi_.tolerances)
    for (auto s : t.on.sets) bound[s].push_back(t.entity);
  for (const char* key : {"GEOMETRIC_CURVE_SET", "GEOMETRIC_SET"})
    for (auto i : f_.all(key)) {
      const Instance& set = f_.instances()[i];
      const Value* items = attribute(set, "GEOMETRIC_SET", 0, 1);
      if (!items) continue;
      bool drawn = false;
      for (auto u : f_.users(set))
        for (const Record& r : f_.records(f_.instances()[u])) {
          const auto name = f_.keyword(r);
          drawn = drawn || name.starts_with("ANNOTATION") || name.ends_with("ANNOTATION_OCCURRENCE");
        }
      std::set<std::uint64_t> seen;
      for (const Value& v : f_.items(*items)) circle_in(target(&v), set, drawn, bound, seen);
    }
}

void PmiReader::circle_in(const Instance* e, const Instance& set, bool drawn,
                          const std::map<std::uint64_t, std::vector<std::uint64_t>>& bound,
                          std::set<std::uint64_t>& seen) {
  for (int depth = 0; e && depth < 4; ++depth) {  // a circle, or an arc trimmed out of one
    step();
    if (exhausted()) return;
    if (is(*e, "TRIMMED_CURVE")) {
      e = target(attribute(*e, "TRIMMED_CURVE", 0, 1));
      continue;
    }
    if (!is(*e, "CIRCLE") || !seen.insert(e->id).second) return;
    const Instance* where = target(attribute(*e, "CONIC", 0, 1));
    const auto at = where ? placed(*where) : std::nullopt;
    const auto radius = plain(attribute(*e, "CIRCLE", 0, 2));
    if (!at || !radius || !(*radius > 0)) {
      if (pmi_.units.length) unread(*e, "CIRCLE", "a circle of a curve set cannot be read");
      return;
    }
    SetCircle c{set.id,
                e->id,
                at->point,
                at->axis,
                *pmi_.units.length * *radius,
                text(attribute(set, "REPRESENTATION_ITEM", 0, 0)),
                drawn,
                {}};
    if (const auto b = bound.find(set.id); b != bound.end()) c.bound_by = b->second;
    tidy(c.bound_by);
    pmi_.circles.push_back(std::move(c));
    return;
  }
}

void PmiReader::thread_texts() {
  std::set<std::string> told;
  auto from = [&](std::uint64_t entity, const std::vector<std::string>& texts) {
    for (const auto& s : texts)
      if (const std::string t = thread_in(s); !t.empty()) {
        pmi_.threads.push_back({entity, 0, s, t});
        told.insert(s);
      }
  };
  for (const auto& d : pmi_.dimensions) from(d.entity, d.texts);
  for (const auto& t : pmi_.tolerances) from(t.entity, t.texts);
  for (auto i : f_.all("DESCRIPTIVE_REPRESENTATION_ITEM")) {
    const Instance& e = f_.instances()[i];
    const std::string s = text(attribute(e, "DESCRIPTIVE_REPRESENTATION_ITEM", 0, 1));
    if (const std::string t = thread_in(s); !t.empty() && !told.count(s)) pmi_.threads.push_back({0, e.id, s, t});
  }
}

std::string Compartment::text() const {
  std::string out;
  for (const DatumUse& d : datums) out += (out.empty() ? "" : "-") + d.letter;
  return out;
}

Outcome<Pmi> read_pmi(const File& file, std::optional<double> length) { return PmiReader(file, length).run(); }
Units read_units(const File& file) { return Entities(file).find_units(); }

}  // namespace fettle::step
