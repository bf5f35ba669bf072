#pragma once
// A study turns a plan into findings. The only floor that knows both the plan and the sciences.
#include <array>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "calc/timing/hours.h"
#include "finding/finding.h"
#include "plan/plan.h"
#include "solid/solid.h"
#include "study/memo.h"

namespace fettle::study {

/// The models a plan names, read when its casting is to be sampled from them.
struct Models {
  solid::Model part, cast;
};

/// Bytes of the data files a plan names (tables, scans), by the path written in the plan. A file that could not be read
/// is left out; the findings that need it stay open and say so. Filled by load_data, so that run() itself opens
/// nothing.
struct Data {
  std::map<std::string, std::string> files;
  std::map<std::string, std::string> not_read;  ///< path -> why
  std::shared_ptr<const Models> models;         ///< only for casting.points = "models"
};
Data load_data(const plan::Plan& plan);

/// How long one tool works in one operation, as the caller knows it (a stopwatch, a program timed elsewhere).
struct ProgramTime {
  std::string operation, tool;  ///< ids
  double per_part = 0;          ///< s
  std::string source;           ///< "stopwatch, 12 parts"
};

struct Options {
  int threads = 1;
  bool monte_carlo = true;                                              ///< virtual castings
  bool bands = true;                                                    ///< states over the bands of what is assumed
  bool pictures = true;                                                 ///< curves and fields that no finding needs
  std::function<void(const std::string& what, double share)> progress;  ///< called from the calling thread only
  std::function<bool()> stop;              ///< asked now and then, from any thread; true ends the run with a problem
  std::vector<std::string> only;           ///< only these steps ("locating", "tolerances", ...); empty: all
  std::vector<ProgramTime> program_times;  ///< instead of the times that programs or the plan say
};
/// The steps of a study, in order.
std::vector<std::string> steps();

/// One measured casting held as the route holds it.
struct CastingRow {
  std::string number;
  double least = 0;     ///< m, least stock minus what must go: unshifted, as fixtured
  std::string where;    ///< surface and side, in words
  std::string surface;  ///< feature reference
  double shift_x = 0, shift_y = 0,
         shift_z = 0;        ///< m, what to enter for this casting, within what the program may shift
  double least_shifted = 0;  ///< m, with that shift
  std::string where_shifted;
  std::string left, left_shifted;  ///< "0.689 mm of metal is missing on the counterbore at +X": as it lies, shifted
  bool cleans_up = false, saved = false;
  std::string proof;                    ///< when nothing saves it: which surfaces clash
  std::map<std::string, double> stock;  ///< least stock by surface, m, unshifted
};

/// What the drawing of the worst casting needs, in the part frame, m.
struct CastingPicture {
  bool there = false;
  std::string number;
  double least = 0;        ///< reserve: stock minus what is asked
  double least_stock = 0;  ///< m, there
  frame::Vec3 least_at;
  std::string least_where;
  double most = 0;
  frame::Vec3 most_at;
  std::string most_where;
  double shift_x = 0, shift_y = 0;
  double length_raw = 0, width_raw = 0, thickness_raw = 0;  ///< at the parting line
  double bottom_raw = 0;                                    ///< z of the raw bottom
  double core_diameter = 0, core_x = 0, core_y = 0, core_floor = 0;
  double outside_x = 0, outside_y = 0;  ///< middle of the raw outside
  double draft = 0, parting = 0;
};

/// Where play alone can put the feature that it takes most of, m, part axes, about its place.
struct PlayPicture {
  bool there = false;
  std::string feature;                        ///< in words
  std::vector<std::array<double, 2>> region;  ///< convex outline, x and y
  std::array<double, 2> worst{};              ///< farthest corner
  double allowed = 0;                         ///< m, radius that the requirement leaves
};

/// What one contributor does to one requirement, and what mending it would buy.
struct ContributorRow {
  std::string name, key, operation;
  double variance_share = 0;         ///< of the requirement's variance, 0..1
  double share_outside_without = 0;  ///< share outside if it were gone
  double buys = 0;                   ///< share of parts gained if it were gone
  std::string mend;                  ///< what would mend it, and what that costs, in words
};
/// How one requirement will come out: for the picture of its distribution against its limits on opening.
struct RequirementRow {
  std::string id, title, finding;  ///< requirement, words, id of its finding
  unit::Kind kind = unit::Kind::length;
  bool gauge = false;
  std::optional<double> lower, upper;    ///< limits, SI
  double mean = 0, s = 0;                ///< SI
  double worst_low = 0, worst_high = 0;  ///< worst case, SI
  double share = 0, share_low = 0, share_high = 0;
  double theory_share = 0;  ///< by linear theory
  double goal = 0;
  double cp = 0, cpk = 0;
  double first = 0, step = 0;                ///< bins of the histogram: left edge of the first, width of each, SI
  std::vector<double> bins;                  ///< share of parts in each
  std::vector<ContributorRow> contributors;  ///< by what mending them buys
};

/// One stretch of time of a person or machine in the picture of a cycle.
struct CycleBar {
  std::string who, what;
  double from = 0, to = 0;  ///< s
  bool waiting = false;
};
struct CyclePicture {
  bool there = false;
  double cycle = 0;              ///< s
  int parts = 0;                 ///< per cycle
  std::vector<std::string> who;  ///< rows from the top
  std::vector<CycleBar> bars;
};
/// Time and cost of a part over the number of parts on a pallet set.
struct CountPoint {
  int parts = 0;
  double minutes_machine = 0, minutes_person = 0;  ///< per part, min
  double cost = 0;                                 ///< per good part
};
struct CountCurve {
  bool there = false;
  int now = 0;
  std::string currency;
  std::vector<CountPoint> points;
};

/// Force of one cut on the part through one turn.
struct ForcePicture {
  std::string tool, operation, words;                ///< "T11 roughs the outside profile"
  std::string finding;                               ///< id of the finding it belongs to
  std::vector<double> angle;                         ///< rad, rising
  std::vector<double> feed, out, up;                 ///< N, hard iron with a used edge
  std::vector<double> feed_soft, out_soft, up_soft;  ///< N, soft iron with a new edge
  double peak = 0, mean = 0;                         ///< N, size of the force, hard
};

/// A quantity over the plate, on a grid in the pallet frame (row by row from -y, each from -x). NaN: no plate there.
struct PlateField {
  int columns = 0, rows = 0;
  double left = 0, bottom = 0, step_x = 0, step_y = 0;  ///< m, first node and steps
  std::vector<double> value;
};
/// What one nest says beside the pallet.
struct NestVerdict {
  std::string nest, text;  ///< "2", "T11: 14 µm at the corner"
  std::string finding;
  finding::State state = finding::State::open;
  double x = 0, y = 0;  ///< m, where the remark points
};
/// The pallet by how far 100 N upright press it down, with what the nests say.
struct CompliancePicture {
  bool there = false;
  std::string title, sentence;
  PlateField field;                     ///< m per 100 N
  double softest = 0;                   ///< m per 100 N, the largest of the field
  double softest_x = 0, softest_y = 0;  ///< m, where that is
  std::string softest_words;            ///< "at the +X rim, between nests 2 and 4"
  std::vector<NestVerdict> nests;
  double first = 0, first_low = 0, first_high = 0;  ///< Hz, first mode and its band
};
/// A part in a mode: it moves as a whole, by `shift` at `at` and `turn` (small, rad for a largest motion of 1) about
/// it.
struct ModePart {
  std::string nest;
  frame::Vec3 at, shift, turn;  ///< pallet frame; `at` in m, half way up the part
};
/// One mode of the loaded pallet. A mode has no size of its own: the largest motion of plate and parts' tops is 1.
struct ModePicture {
  double frequency = 0, low = 0, high = 0;    ///< Hz, stated and the ends of the band, matched by shape
  std::string words;                          ///< "rocks about Y; the tops of the parts go farthest"
  PlateField field;                           ///< upright
  double slide_x = 0, slide_y = 0, spin = 0;  ///< of the plate in its plane, as a whole, about its middle
  std::vector<ModePart> parts;
};
/// Depth of cut that stays quiet over spindle speed.
struct LobePicture {
  std::string tool, nest, words, finding;
  std::vector<double> speed;                         ///< turns per second, rising
  std::vector<double> limit, limit_low, limit_high;  ///< m, axial depth; the band of what is assumed
  std::vector<double> limit_no_damping;              ///< m, without process damping; may be empty
  double now_speed = 0, now_depth = 0;               ///< the plan's point
  std::optional<double> better_speed;                ///< turns per second, the best nearby
};
/// How deep one tool of one operation may cut at one nest, for the plan of the pallet: the cut of it that comes nearest
/// to its limit (or goes farthest beyond). A study without virtual castings looks at the two softest nests only.
struct NestLimit {
  std::string operation, tool, nest;  ///< "OP30", "T11", "2"
  std::string words, place;           ///< "T11 roughs the outside profile"; "+X side, at the corner"
  std::string finding;                ///< id of the finding it belongs to
  double limit = 0, asked = 0;        ///< m: quiet to; asked of it. A limit above ten times that is given as that
  bool far = false;                   ///< the limit is above ten times what is asked
  bool width = false;                 ///< a boring bar: limit and asked are depths of cut on the radius
  /// As the finding's for the nest it names. At the others by the values as stated alone: inside only when the finding
  /// is, else tight (quiet as stated) or beyond (sings as stated, and nobody tried the good ends of the bands here).
  finding::State state = finding::State::open;
  std::string soft;     ///< what gives way most: "the tool", "the pallet with its parts"
  double x = 0, y = 0;  ///< m, pallet frame, where it cuts there
};
/// One contact of the worst case.
struct SlipContact {
  std::string name;              ///< "pad 3", "screw 1"
  frame::Vec3 at, normal;        ///< part frame; normal into the part
  double preload = 0, used = 0;  ///< N; share of its friction used in that case
  frame::Vec3 force;             ///< N, on the part
  bool slips = false;
};
/// The worst case of one clamping: where the tool pushes, what carries it, how it would go.
struct SlipPicture {
  std::string operation, tool, finding, words, mechanism;  ///< mechanism: "slides to -Y and turns"
  std::string part;                                        ///< outline follows the part's size
  frame::Vec3 at, force;                                   ///< part frame; N on the part
  double factor = 0;                                       ///< load factor carried
  frame::Vec3 slide, turn;  ///< of the mechanism: translation (unit or less) and rotation vector per m
  std::vector<SlipContact> contacts;
};
/// Stiffness, first mode and weight over the thickness of the plate.
struct ThicknessPoint {
  double thickness = 0, mass = 0;                   ///< m, kg (pallet without parts)
  double loaded_mass = 0;                           ///< kg, with parts as loaded
  double first = 0, first_low = 0, first_high = 0;  ///< Hz
  double give = 0, give_low = 0, give_high = 0;     ///< m per 100 N at the softest cut
  bool stocked = false;                             ///< a plate of this thickness stands in the shop file
};
struct ThicknessCurve {
  bool there = false;
  double now = 0;
  std::string material, sentence;
  std::vector<ThicknessPoint> points;
};
/// Clamp force that each part under one jaw gets.
struct JawPart {
  std::string name;
  double force = 0, low = 0, high = 0;  ///< N, at equal widths; 5 % and 95 % over the spread of widths
  double loose = 0;                     ///< share of loads in which it gets less than it needs
};
struct JawPicture {
  bool there = false;
  std::string operation, finding, words;
  double need = 0;                  ///< N
  double length = 0;                ///< m, of the jaw; 0: no carrier
  std::vector<double> at;           ///< m, each part along the jaw
  std::vector<JawPart> parts;       ///< as planned
  std::vector<JawPart> parts_cure;  ///< with the pad or other cure named in `cure`
  std::string cure;
  std::vector<double> bend_at, bend;  ///< m, the jaw's line under load
};

/// One plan's week as a study counts it, for the sum over all plans of a shop.
struct CountedWeek {
  timing::PlanLoad load;             ///< operation by operation, edge changes included
  double good_share = 1;             ///< of the parts started
  std::optional<double> hone_share;  ///< of the parts, where the plan hones
  std::string hone_source;
  std::vector<std::string> missing;  ///< what its times lack
};

struct Counts {
  int inside = 0, tight = 0, outside = 0, open = 0, beyond = 0;
};

struct Study {
  std::vector<finding::Finding> findings;      ///< sorted by need
  std::map<std::string, std::string> step_of;  ///< step that made a finding, by its id
  Counts counts;
  std::string verdict;           ///< one sentence one can say aloud
  std::string casting_sentence;  ///< names the casting that does not clean up, what is left, the shift that saves it;
                                 ///< may be empty
  std::vector<CastingRow> castings;
  CastingPicture picture;
  PlayPicture play;
  std::vector<RequirementRow> requirements;  ///< judged by the ledger, in the plan's order
  std::optional<double> kept;                ///< share of parts with every judged requirement inside
  CyclePicture cycle;
  CountCurve counts_curve;
  std::optional<CountedWeek> counted_week;
  std::vector<ForcePicture> forces;
  CompliancePicture compliance;
  std::vector<ModePicture> modes;
  std::vector<LobePicture> lobes;
  std::vector<NestLimit> nest_limits;  ///< tool by tool in the order of the operations, each nest by nest
  std::vector<SlipPicture> slips;
  ThicknessCurve thickness;
  std::vector<JawPicture> jaws;
  std::vector<finding::Assumption> assumptions;  ///< over all findings, largest effect first
  std::vector<std::string> not_looked_at;        ///< questions of the job this version does not compute
  std::vector<std::string> notices;
  std::string plan_name, plan_hash, version, tables;
  int seed = 0;
};

/// Runs every science the plan gives enough for. Problems only for input that no finding can carry (an unreadable
/// table, say).
Outcome<Study> run(const plan::Plan& plan, const Data& data, const Options& options, Memo& memo);

/// 0 all inside or tight, 1 something outside, 4 nothing outside but something open or beyond, or nothing judged at
/// all.
int exit_code(const Study& study);

/// What moved between two studies: findings whose state or margin changed, those that came and went.
struct Moved {
  std::string id, title;
  finding::State before = finding::State::open, after = finding::State::open;
  double margin_before = 0, margin_after = 0;
  bool came = false, went = false;
};
std::vector<Moved> moved(const Study& before, const Study& after);

}  // namespace fettle::study
