#pragma once
// Inside calc/practice only: the route as the rules walk it, and what collects their answers.
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "calc/practice/practice.h"

namespace fettle::practice {

/// A cut in the route.
struct At {
  int operation = 0, cut = 0;
  const Operation* o = nullptr;
  const Cut* c = nullptr;
};
inline bool before(const At& a, const At& b) { return std::pair(a.operation, a.cut) < std::pair(b.operation, b.cut); }

/// Order of the route: which cut touches which metal when.
class Route {
 public:
  explicit Route(const Facts& facts);
  const Facts& facts() const { return f_; }
  const Feature* feature(std::string_view id) const;
  /// Name of the metal under a feature: that of the last surface on it.
  const std::string& metal(const std::string& id) const;
  std::string words(std::string_view id) const;
  /// All cuts in order, probing left out.
  const std::vector<At>& cuts() const { return cuts_; }
  /// Cuts that take metal from there, in order; no chamfers.
  const std::vector<At>& on_metal(const std::string& metal) const;
  /// Cuts that name this very feature; no chamfers.
  const std::vector<At>& on_feature(const std::string& id) const;
  /// Some cut took metal from there in an earlier operation.
  bool cut_before(int operation, const std::string& id) const;
  /// Metal that was cast and that nothing has cut before this operation.
  bool raw_at(int operation, const std::string& id) const;
  std::string mm(double si) const;

 private:
  const Facts& f_;
  std::vector<At> cuts_;
  std::map<std::string, const Feature*, std::less<>> features_;
  std::map<std::string, std::vector<At>> by_metal_, by_feature_;
};

bool names(const Cut& cut, std::string_view feature);
bool locates(Touch touch);
bool roughs(Pass pass);
/// Machine work that holds the part; the bench, the hone and the washer do not.
bool clamps_and_cuts(const Operation& o);

/// Collects what a rule finds out and closes with an answer.
class Hearing {
 public:
  void kept() { ++a_.looked_at; }
  void broken(Where where, std::string sentence);
  void open(std::string_view fact, Where where = {});
  /// Why there is nothing to judge.
  void nothing(std::string why) { why_ = std::move(why); }
  /// Said when it is kept.
  void well(std::string sentence) { well_ = std::move(sentence); }
  Answer close(const Rule& rule);

 private:
  Answer a_;
  std::string why_, well_;
};

/// Asks for what the part sits on, wherever it is clamped and cut and nobody said it.
void ask_for_seats(const Route& route, Hearing& hearing);

/// Asks whether a surface that locates or is clamped is still raw, where nobody said what was there before the first
/// cut and no earlier operation cut it.
bool ask_whether_raw(const Route& route, int operation, const Contact& contact, Hearing& hearing);

/// Asks which operation makes a feature that no cut names; true when it had to.
bool ask_who_makes(const Route& route, const std::string& feature, Hearing& hearing);

/// Asks what it cuts, of every roughing cut that does not say.
void ask_for_features(const Route& route, Hearing& hearing);

using Judge = void (*)(const Route&, Hearing&);
// skin.cpp: skin and casting
void first_cut_under_skin(const Route&, Hearing&);
void no_finish_on_skin(const Route&, Hearing&);
void hard_corner(const Route&, Hearing&);
void clear_of_gates(const Route&, Hearing&);
void clear_of_parting(const Route&, Hearing&);
void shim_warped(const Route&, Hearing&);
// route.cpp: route and datums
void raw_datum_once(const Route&, Hearing&);
void made_before_used(const Route&, Hearing&);
void next_datum_made(const Route&, Hearing&);
void agree_in_one_clamping(const Route&, Hearing&);
void finish_after_skin(const Route&, Hearing&);
void critical_bore_last(const Route&, Hearing&);
void threads_never_locate(const Route&, Hearing&);
// cuts.cpp: tools and cuts
void hole_before_tap(const Route&, Hearing&);
void exit_edge(const Route&, Hearing&);
void no_form_tap(const Route&, Hearing&);
void swarf_from_bore(const Route&, Hearing&);
// seats.cpp: clamping and seats
void one_round_pin(const Route&, Hearing&);
void pins_short(const Route&, Hearing&);
void shoulder_short(const Route&, Hearing&);
void clamp_over_support(const Route&, Hearing&);
void clean_seats(const Route&, Hearing&);
void burr_free_seat(const Route&, Hearing&);
void fines_cement(const Route&, Hearing&);
// after.cpp: after machining, prove-out
void burrs_removed(const Route&, Hearing&);
void pores_early(const Route&, Hearing&);
void rust_clock(const Route&, Hearing&);
void demagnetise(const Route&, Hearing&);
void flat_off_chuck(const Route&, Hearing&);
void warm_gauging(const Route&, Hearing&);
void hone_last(const Route&, Hearing&);
void single_block(const Route&, Hearing&);

}  // namespace fettle::practice
