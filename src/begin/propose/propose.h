#pragma once
// From what was read to complete plans: choices made one after the other, each with its reason and its runner-up.
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "plan/plan.h"
#include "solid/solid.h"
#include "study/study.h"

namespace fettle::begin {

/// What a person said, by question ("per_week" -> "240"). What nobody said is not here.
using Answers = std::map<std::string, std::string>;

/// One question of the dozen that no model answers.
struct Question {
  std::string id;       ///< "per_week"
  std::string words;    ///< "How many good parts a week?"
  std::string example;  ///< "240"
  std::string start;    ///< what is taken when nobody answers, as text; empty: it stays open
  std::string why;      ///< what hangs on it
  std::vector<std::string> choices;
  std::string pick = {};  ///< what can be pointed at to answer it: "hole", "face", "requirement", "thread"; empty: none
};

/// A way that was not taken.
struct Alternative {
  std::string words;           ///< "relieved pin in H3@1 instead"
  std::string why_not;         ///< "0.021 mm instead of 0.014 mm at the counterbore"
  std::string take = {};       ///< the answer that takes it, "take.seat.pins=swapped"; empty: it cannot be had
  std::string no_answer = {};  ///< why it cannot be had, where `take` is empty
  bool lugs = false;           ///< lugs cast on: whether they can be had is said when the route stands
};
/// One choice of a plan.
struct Choice {
  std::string stage;  ///< "casting", "route", "seat", "pallet", "cuts"
  std::string about;  ///< the place in the plan: "operation.OP30", "pallet.nest", "operation.OP30.cut.T12"
  std::string taken;  ///< what was chosen, in words
  std::string why;
  std::string asked_by;  ///< rule of practice, requirement, finding, or "common practice"
  std::vector<Alternative> others;
};
/// A wish that cannot be met together with others: the smallest set that clashes.
struct Clash {
  std::vector<std::string> wishes;  ///< "the part fits the table of machine B", "all faces of one side in one clamping"
  std::string words;                ///< "Y 485 mm is more than the 406 mm that machine B travels"
  bool no_screws = false;           ///< no hole of the part carries a screw of the pallet: lugs may
};

/// A lug cast on the outside for one screw of the pallet, upright on the side that the part sits on.
struct Lug {
  frame::Vec3 at;      ///< middle of its hole, where it sits
  double out = 0;      ///< rad, which way it stands out from the part
  double wall = 0;     ///< m, from the hole back to the part
  double wide = 0;     ///< m, along the side
  double deep = 0;     ///< m, how far it stands out
  double high = 0;     ///< m, finished
  double stock = 0;    ///< m, raw metal under it
  double round = 0;    ///< m, radius of the side it stands on; 0: flat
  bool hangs = false;  ///< it sits on the part's top: it reaches down from there
};

/// A plan on its way. Stages fill it in and say what they did.
struct Draft {
  std::string name;  ///< of the route: "edges first, then the pallet"
  plan::Plan plan;
  std::vector<std::string> pins, screws;  ///< holes that the route keeps for the pallet: "H3@1", "H2"
  std::string pallet_operation;           ///< id of the operation on the pallet; empty: none
  std::vector<Lug> lugs;                  ///< cast on for those screws; empty: they go through the part
  std::vector<Choice> choices;
  std::vector<std::string> assumed;   ///< "pallet.anchor.pull_down 10 kN (5 to 15): from memory"
  std::vector<std::string> disagree;  ///< where a practitioner may see it otherwise, in words
  std::vector<Clash> clashes;         ///< any: the draft is no proposal
  std::vector<Clash> unmet;           ///< wishes that this plan leaves to somebody else: it is no whole plan
};

struct Sight;

/// What every stage may look at. All of it outlives the stages.
struct Scene {
  const solid::Model* part = nullptr;  ///< in the plan's frame
  const solid::Model* cast = nullptr;  ///< or none
  plan::Shop shop;
  std::string shop_path, shop_text;  ///< as the plan shall name it; its bytes
  Answers answers;
  bool inch = false;
  std::uint64_t seed = 1;
  /// What lists of the shop say of a finished draft (stopwatch times, with their choices); before every study of it.
  std::function<void(Draft&)> known = {};
  /// From where holes are reached and what lies inside the box to sit on; `propose` looks itself when the model has a
  /// mesh. Without it holes are reached from where they reach the box, and only outer flats carry the part.
  std::shared_ptr<const Sight> sight = {};
};

// ---- the stages, in order. Each is pure: the same scene and draft give the same result. ----------------------------

/// Which faces are machined, parting line, stock by grade, draft, cores, raw sizes and mass; the iron's own numbers.
void order_casting(const Scene& scene, Draft& draft);
/// Operations with what they make, what locates and what holds the part in each, machine and kind of clamping; best
/// first, at most `most`. An empty list cannot be: a draft with a clash stands for what is impossible.
std::vector<Draft> routes(const Scene& scene, const Draft& draft, int most);
/// Pins, pads, screws and run-off of the operations on pallets.
std::vector<Draft> seats(const Scene& scene, const Draft& draft, int most);
/// Nests, anchors, plate and its thickness, sets.
std::vector<Draft> pallets(const Scene& scene, const Draft& draft, int most);
/// A tool and its data for everything that an operation makes, in order.
void cuts(const Scene& scene, Draft& draft);

// ---- the whole ------------------------------------------------------------------------------------------------------

struct Proposal {
  Draft draft;
  std::string text;            ///< the plan file, with its reasons as comments
  study::Study study;          ///< of that file
  std::optional<double> cost;  ///< per good part, in the plan's currency; none: `no_cost` says why
  std::string currency, no_cost;
  int rank = 0;              ///< from 1
  std::string why_here;      ///< why it stands at this rank
  std::vector<Clash> still;  ///< wishes that clash in it: one for each finding that is outside
};
struct Proposals {
  std::vector<Proposal> best;       ///< one to three, best first; those with nothing outside stand first, by cost
  std::vector<Clash> clashes;       ///< when none is possible, or none without something outside
  std::vector<Question> not_asked;  ///< questions without an answer, with what was taken instead
  int looked_at = 0;                ///< drafts that were studied quickly
};
/// Runs the stages, studies every draft without virtual castings, keeps the best three that differ in route or pallet
/// and studies them whole. `read`: what `begin` wrote. `data`: the tables the plan names.
Outcome<Proposals> propose(const Scene& scene, const plan::Plan& read, const study::Data& data, int threads = 1,
                           const std::function<void(const std::string&, double)>& progress = {});

}  // namespace fettle::begin
