#pragma once
// The inside of read_pmi, split by question: pmi_binding.cpp (what an aspect binds, measures, texts),
// pmi_dimensions.cpp, pmi_tolerances.cpp, pmi_datums.cpp, pmi.cpp (curve sets, thread texts, the whole).
#include <array>
#include <map>
#include <set>

#include "step/entities.h"
#include "step/pmi.h"

namespace fettle::step {

// Relationships that lead from an aspect to those it is made of. DIMENSIONAL_LOCATION is a relationship of aspects too,
// but not one of these.
inline constexpr std::array<std::string_view, 6> aspect_links = {"SHAPE_ASPECT_RELATIONSHIP",
                                                                 "SHAPE_ASPECT_ASSOCIATIVITY",
                                                                 "SHAPE_ASPECT_DERIVING_RELATIONSHIP",
                                                                 "SHAPE_ASPECT_TRANSITION",
                                                                 "FEATURE_FOR_DATUM_TARGET_RELATIONSHIP",
                                                                 "TOLERANCE_ZONE_TARGET_RELATIONSHIP"};
inline constexpr std::array<std::string_view, 4> item_links = {
    "GEOMETRIC_ITEM_SPECIFIC_USAGE", "ITEM_IDENTIFIED_REPRESENTATION_USAGE",
    "CHAIN_BASED_GEOMETRIC_ITEM_SPECIFIC_USAGE", "CHAIN_BASED_ITEM_IDENTIFIED_REPRESENTATION_USAGE"};
inline constexpr std::array<std::string_view, 3> target_names = {"DATUM_TARGET", "PLACED_DATUM_TARGET_FEATURE",
                                                                 "PLACED_TARGET_FEATURE"};
// The special before the general.
inline constexpr std::array<std::string_view, 8> dimension_names = {
    "ANGULAR_LOCATION", "DIRECTED_DIMENSIONAL_LOCATION", "DIMENSIONAL_LOCATION_WITH_PATH",      "DIMENSIONAL_LOCATION",
    "ANGULAR_SIZE",     "DIMENSIONAL_SIZE_WITH_PATH",    "DIMENSIONAL_SIZE_WITH_DATUM_FEATURE", "DIMENSIONAL_SIZE"};

struct Measure {
  std::string name;
  double value = 0;  // m or rad
  bool angular = false;
  std::optional<int> decimals;
  std::vector<std::string> qualifiers;
};

class PmiReader : public Entities {
 public:
  PmiReader(const File& file, std::optional<double> length) : Entities(file), given_(length) {}
  Outcome<Pmi> run();

 private:
  // pmi_binding.cpp
  void unread(const Instance& e, std::string_view name, std::string why);
  std::optional<Measure> measure(const Instance* e, std::string& why);
  void qualify(const Instance& e, Measure& m);
  void qualifiers(const Value& list, Measure& m);
  std::optional<double> length_of(const Instance& e, const Value* v, std::string_view what);
  std::optional<Placed> placed(const Instance& e) const {
    return pmi_.units.length ? placement(e, *pmi_.units.length) : std::nullopt;
  }
  void item(const Value& v, Binding& b, int depth);
  Binding bind(const Instance* start);
  void texts_of(const Instance& e, std::vector<std::string>& out);
  void property_texts(const Instance& e, std::vector<std::string>& out);
  void representation_texts(const Instance& property, std::vector<std::string>& out);

  // pmi_dimensions.cpp
  std::vector<const Instance*> dimension_ends(const Instance& e) const;
  void dimensions();
  void dimension(const Instance& e);
  void dimension_values(const Instance& e, Dimension& d);
  void dimension_item(const Instance& e, const Value& v, Dimension& d, int depth);
  void dimension_limits(const Instance& e, Dimension& d);
  void deviations(const Instance& e, const Instance& range, Dimension& d);
  void fit(const Instance& e, const Instance& range, Dimension& d);

  // pmi_datums.cpp
  void datums();
  void datum(const Instance& e);
  std::string letter_of(const Instance& e) const { return text(attribute(e, "DATUM", 0, 4)); }
  void datum_target(const Instance& e);
  void target_placement(const Instance* rep, DatumTarget& t);

  // pmi_tolerances.cpp
  void tolerances();
  void tolerance(const Instance& e);
  void magnitude(const Instance& e, Tolerance& t);
  void where_it_applies(const Instance& e, Tolerance& t);
  void extras(const Instance& e, Tolerance& t);
  void zones(const Instance& e, Tolerance& t);
  void datum_frame(const Instance& e, const Value& list, Tolerance& t);
  Compartment compartment(const Instance& e, const Instance& part);
  void elements(const Instance& e, const Value& v, std::vector<DatumUse>& out, int depth);
  std::vector<Modifier> datum_modifiers(const Value& list);
  void links();

  // pmi.cpp
  void circles();
  void circle_in(const Instance* e, const Instance& set, bool drawn,
                 const std::map<std::uint64_t, std::vector<std::uint64_t>>& bound, std::set<std::uint64_t>& seen);
  void thread_texts();

  std::optional<double> given_;
  Pmi pmi_;
};

// Small helpers of all parts.
inline void add(std::vector<std::string>& list, std::string s) {
  if (s.empty()) return;
  for (const auto& have : list)
    if (have == s) return;
  list.push_back(std::move(s));
}
void tidy(std::vector<std::uint64_t>& ids);
void tidy(Binding& b);

}  // namespace fettle::step
