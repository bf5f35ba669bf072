// The demo part and its casting, begun: everything a hand sum or demo drawing says must stand in the plan.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "begin/begin.h"
#include "plan/read.h"
#include "solid/build.h"
#include "solid/write_pmi.h"

namespace fettle::begin {
namespace {

template <class T>
T must(const Outcome<T>& o) {
  if (o.ok()) return o.value();
  ADD_FAILURE() << say(o.problem());
  return T{};
}

const std::string& part_text() {
  static const std::string t = must(solid::demo_part());
  return t;
}
const solid::Model& part() {
  static const solid::Model m = must(solid::read_step_text(part_text(), "part"));
  return m;
}
const Drawing& drawing() {
  static const Drawing d = must(read_drawing(part_text(), "part", ""));
  return d;
}
const solid::Model& casting() {
  static const solid::Model m = must(solid::read_step_text(must(solid::demo_casting()), "casting"));
  return m;
}

Options plain() {
  Options o;
  o.name = "wvb3";
  o.model = "wvb3.step";
  return o;
}
Options measured(const std::string& unit = {}) {
  Options o = plain();
  o.measured = "castings.csv";
  o.table_unit = unit;
  return o;
}

const plan::Feature& feature(const plan::Plan& p, const std::string& id) {
  static const plan::Feature none;
  for (const auto& f : p.features)
    if (f.id.value == id) return f;
  ADD_FAILURE() << "no feature " << id;
  return none;
}
const plan::CastSize& size(const plan::Plan& p, const std::string& id) {
  static const plan::CastSize none;
  for (const auto& s : p.casting.sizes)
    if (s.id.value == id) return s;
  ADD_FAILURE() << "no size " << id;
  return none;
}

/// The features alone, as they stand in the file, without what the drawing adds.
std::string features_text(const plan::Plan& from) {
  plan::Plan p;
  p.header = from.header;
  for (plan::Feature f : from.features) {
    if (f.kind.value == "datum" || f.id.value[0] == 'X') continue;
    f.datum = {};
    p.features.push_back(f);
  }
  return plan::write_plan(p);
}

TEST(BeginDemo, every_drawing_item_becomes_a_requirement) {
  const Begun b = must(begin(part(), drawing(), nullptr, "", plain()));
  EXPECT_EQ(b.drawn.dimensions, 11);
  EXPECT_EQ(b.drawn.tolerances, 8);
  EXPECT_EQ(b.drawn.datums, 4);
  EXPECT_EQ(b.drawn.requirements, 19);
  EXPECT_TRUE(b.drawn.open.empty());
  // What demo part's drawing asks for, with the limits as a person reads them.
  const std::map<std::string, std::string> want = {{"outside.x.distance", "131.9..132.1 mm"},
                                                   {"outside.y.distance", "91.9..92.1 mm"},
                                                   {"bottom-top.distance", "35.94..36.06 mm"},
                                                   {"bottom-H1floor.distance", "17.96..18.04 mm"},
                                                   {"bottom.flatness", "max 0.03 mm"},
                                                   {"H1a.size", "Ø50..50.039 mm"},
                                                   {"H1a.coaxiality", "max 0.07 mm"},
                                                   {"H1b.size", "Ø22..22.009 mm"},
                                                   {"H1b.cylindricity", "max 0.004 mm"},
                                                   {"H1b.perpendicularity", "max 0.01 mm"},
                                                   {"H1floor.flatness", "max 0.03 mm"},
                                                   {"H2.size", "Ø10.5..10.7 mm"},
                                                   {"H2.position", "max 0.25 mm"},
                                                   {"H3.size", "Ø8..8.015 mm"},
                                                   {"H3@1-H3@2.distance", "111.195..111.225 mm"},
                                                   {"H4.position", "max 0.25 mm"},
                                                   {"H5.position", "max 0.25 mm"},
                                                   {"G1.size", "Ø54..54.08 mm"},
                                                   {"G1.size-b", "3.7..3.8 mm"}};
  std::map<std::string, std::string> got;
  for (const auto& r : b.plan.requirements) got[r.id.value] = r.limits.typed;
  // Which of the groove's two sizes comes first follows from their texts.
  if (got["G1.size"] == "3.7..3.8 mm") std::swap(got["G1.size"], got["G1.size-b"]);
  EXPECT_EQ(got, want);
  EXPECT_EQ(feature(b.plan, "H3").datum.value, "B C");
  EXPECT_EQ(feature(b.plan, "bottom").datum.value, "A");
  EXPECT_EQ(feature(b.plan, "H1b").datum.value, "D");
  EXPECT_EQ(b.plan.part.symmetry.value, std::vector<std::string>{"half turn z"});
}

TEST(BeginDemo, features_are_those_a_machinist_names) {
  const Begun b = must(begin(part(), drawing(), nullptr, "", plain()));
  std::vector<std::string> ids;
  for (const auto& f : b.plan.features) ids.push_back(f.id.value + " " + f.kind.value);
  EXPECT_EQ(ids, (std::vector<std::string>{"outside profile", "bottom face", "top face", "H1a counterbore", "H1b bore",
                                           "H1floor face", "H2 hole", "H3 hole", "H4 hole", "H5 hole", "G1 groove",
                                           "K1 pocket", "K2 pocket"}));
  EXPECT_EQ(feature(b.plan, "H2").at.value.size(), 2U);
  EXPECT_EQ(feature(b.plan, "H4").at.value.size(), 6U);
  EXPECT_EQ(feature(b.plan, "H5").at.value.size(), 4U);
  EXPECT_EQ(feature(b.plan, "K1").width.typed, "30 mm");
  EXPECT_EQ(feature(b.plan, "G1").width.typed, "3.7 mm");
}

TEST(BeginDemo, a_re_export_with_other_numbers_and_face_order_gives_the_same_plan) {
  const Begun first = must(begin(part(), drawing(), nullptr, "", plain()));
  for (const std::uint64_t shuffle : {0U, 1U, 7U}) {
    solid::Rewrite how;
    how.shuffle = shuffle;
    const std::string bare = must(solid::rewrite_step(part_text(), "part", how));
    const solid::Model again = must(solid::read_step_text(bare, "again"));
    const Drawing none = must(read_drawing(bare, "again", ""));
    EXPECT_TRUE(none.judged.empty());
    const Begun without = must(begin(again, none, nullptr, "", plain()));
    EXPECT_EQ(features_text(without.plan), features_text(first.plan)) << shuffle;
    // The same drawing on the new numbers: the file is the same to the last byte.
    const std::string text = must(solid::with_demo_drawing(bare, again));
    const Begun with = must(begin(again, must(read_drawing(text, "again", "")), nullptr, "", plain()));
    EXPECT_EQ(with.text, first.text) << shuffle;
  }
}

TEST(BeginDemo, what_is_written_reads_back_to_the_same_plan) {
  for (const bool inch : {false, true}) {
    Options o = measured("mm");
    o.inch = inch;
    o.cast = "wvb3-casting.step";
    const Begun b =
        must(begin(part(), drawing(), &casting(), "no,thick,width,length\n1,39.9,97.2,136.3\n2,40.1,97.1,136.2\n", o));
    const auto again = plan::read_plan(b.text, "first.toml",
                                       [](const std::string& p) -> Outcome<std::string> { return bad("none", p); });
    ASSERT_TRUE(again.ok()) << say(again.problem());
    EXPECT_EQ(plan::write_plan(*again), plan::write_plan(b.plan));
    ASSERT_EQ(again->features.size(), b.plan.features.size());
    for (std::size_t i = 0; i < b.plan.features.size(); ++i)
      EXPECT_EQ(again->features[i].at.value, b.plan.features[i].at.value);
    // No number with noise behind it.
    std::size_t run = 0;
    for (const char c : b.text) {
      run = c >= '0' && c <= '9' ? run + 1 : 0;
      ASSERT_LT(run, 9U) << b.text;
    }
  }
}

TEST(BeginDemo, the_casting_model_gives_the_sizes_it_was_made_with) {
  Options o = plain();
  o.cast = "wvb3-casting.step";
  const plan::Plan p = must(begin(part(), drawing(), &casting(), "", o)).plan;
  // demo: thickness 39.9, length 136.25, width 97.1, core 46.0, its floor 20.35 above A, A 1.90 inside, draft 1.5 deg.
  EXPECT_EQ(size(p, "thickness").raw.typed, "39.9 mm");
  EXPECT_EQ(size(p, "thickness").stock.typed, "1.9 mm");
  EXPECT_EQ(size(p, "length").raw.typed, "136.25 mm");
  EXPECT_EQ(size(p, "width").raw.typed, "97.1 mm");
  EXPECT_EQ(size(p, "core H1a").raw.typed, "46 mm");
  EXPECT_EQ(size(p, "floor H1a").raw.typed, "20.35 mm");
  EXPECT_EQ(p.casting.draft.typed, "1.5 deg");
  EXPECT_EQ(p.casting.parting.typed, "18.05 mm");  // half of 39.9 above a bottom at -1.90
  ASSERT_EQ(p.casting.cores.size(), 1U);
  EXPECT_EQ(p.casting.cores[0].features.value, (std::vector<std::string>{"H1a", "H1floor"}));
  EXPECT_EQ(feature(p, "H1a").cast.value, "cored");
  EXPECT_EQ(feature(p, "H1b").cast.known(), false);
  EXPECT_EQ(feature(p, "outside").cast.value, "skin");
  ASSERT_EQ(p.casting.gates.size(), 2U);  // two stubs on the -Y edge, 1.0 proud
  for (const auto& g : p.casting.gates) {
    EXPECT_EQ(g.face.value, "outside.-y");
    EXPECT_EQ(g.height.typed, "1 mm");
  }
  ASSERT_EQ(p.operations.size(), 1U);
  EXPECT_EQ(p.operations[0].locators.size(), 3U);
}

constexpr const char* rows = "1,40.3,97.5,136.1,45.9,0.4,0.4,19.4,0.18\n2,39.9,97.4,136.9,45.5,0.6,-0.6,19.5,0.20\n";

TEST(BeginTable, binds_its_columns_and_takes_means_and_spreads) {
  const std::string table =
      std::string("no,thick [mm],width [mm],length [mm],coreD [mm],coreX [mm],coreY [mm],floorZ [mm],warp [mm]\n") +
      rows;
  const plan::Plan p = must(begin(part(), drawing(), nullptr, table, measured())).plan;
  EXPECT_EQ(size(p, "thickness").raw.typed, "40.1 mm");      // (40.3 + 39.9) / 2
  EXPECT_EQ(size(p, "thickness").spread.typed, "0.283 mm");  // 0.4 / sqrt 2
  EXPECT_EQ(size(p, "core H1a").raw.typed, "45.7 mm");
  EXPECT_EQ(size(p, "floor H1a").feature.value, "H1floor");
  EXPECT_EQ(feature(p, "H1floor").cast.value, "cored");
  EXPECT_EQ(feature(p, "bottom").cast.value, "skin");
  EXPECT_EQ(p.casting.measured.columns.value,
            (std::vector<std::string>{"coreX = core x", "coreY = core y", "warp = warp"}));
}

TEST(BeginTable, german_headers_decimal_commas_inches_and_a_few_columns_only) {
  const std::string german = "Nr;Dicke [mm];Breite [mm];Länge [mm]\n1;40,3;97,5;136,1\n2;39,9;97,4;136,9\n";
  const auto g = begin(part(), drawing(), nullptr, german, measured());
  if (g.ok()) {
    EXPECT_EQ(size(g->plan, "width").raw.typed, "97.45 mm");
  } else {  // the umlaut is not among the spellings: said with its place, not guessed
    EXPECT_NE(say(g.problem()).find("unknown column"), std::string::npos) << say(g.problem());
  }
  const plan::Plan l =
      must(begin(part(), drawing(), nullptr, "Nr;Dicke [mm];Laenge [mm]\n1;40,3;136,1\n2;39,9;136,9\n", measured()))
          .plan;
  EXPECT_EQ(size(l, "length").raw.typed, "136.5 mm");
  EXPECT_EQ(l.casting.sizes.size(), 2U);
  const plan::Plan i = must(begin(part(), drawing(), nullptr, "no,thick [in]\n1,1.58\n2,1.56\n", measured())).plan;
  EXPECT_EQ(size(i, "thickness").raw.typed, "39.88 mm");  // 1.57 in = 39.878 mm, means to a hundredth
}

TEST(BeginTable, numbers_without_a_unit_are_refused_with_the_guess) {
  const std::string table = "no,thick,width,length\n1,40.3,97.5,136.1\n";
  const auto refused = begin(part(), drawing(), nullptr, table, measured());
  ASSERT_FALSE(refused.ok());
  EXPECT_NE(say(refused.problem()).find("mm"), std::string::npos) << say(refused.problem());
  EXPECT_NE(say(refused.problem()).find("--unit"), std::string::npos) << say(refused.problem());
  EXPECT_EQ(refused.problem().where.file, "castings.csv");
  EXPECT_TRUE(begin(part(), drawing(), nullptr, table, measured("mm")).ok());
  EXPECT_FALSE(begin(part(), drawing(), nullptr, table, measured("in")).ok());  // 40.3 in is no thickness of this part
}

TEST(BeginTable, a_table_of_another_part_is_refused) {
  for (const char* wrong : {"no,thick [mm]\n1,20.1\n", "no,thick [mm]\n1,95\n", "no,thick [mm]\n1,35.5\n2,35.6\n",
                            "no,coreD [mm]\n1,52\n", "no,apples [mm]\n1,4\n", "no,warp [mm]\n1,0.2\n", "", "no\n1\n"}) {
    const auto b = begin(part(), drawing(), nullptr, wrong, measured());
    EXPECT_FALSE(b.ok()) << wrong;
    if (!b.ok()) {
      EXPECT_EQ(b.problem().fault, Fault::bad_input) << say(b.problem());
    }
  }
}

TEST(BeginPose, any_way_up_and_any_origin_gives_a_plan_that_reads) {
  for (const char* up : {"", "+x", "-x", "+y", "-y", "+z", "-z"})
    for (const char* origin : {"", "bottom middle", "1.5, -2, 3 mm", "0.1, 0, 0 in"}) {
      Options o = plain();
      o.up = up;
      o.origin = origin;
      const auto b = begin(part(), drawing(), nullptr, "", o);
      ASSERT_TRUE(b.ok()) << up << " " << origin << " " << say(b.problem());
      EXPECT_EQ(b->drawn.requirements, 19) << up << " " << origin;
      EXPECT_FALSE(b->plan.features.empty());
    }
  Options o = plain();
  o.up = "+x";
  const Begun b = must(begin(part(), drawing(), nullptr, "", o));
  EXPECT_EQ(b.plan.part.symmetry.value, std::vector<std::string>{"half turn y"});  // the model's Z lies along Y now
  o.up = "up";
  EXPECT_FALSE(begin(part(), drawing(), nullptr, "", o).ok());
  o = plain();
  for (const char* origin : {"here", "1, 2", "±1, 2, 3 mm"}) {
    o.origin = origin;
    EXPECT_FALSE(begin(part(), drawing(), nullptr, "", o).ok()) << origin;
  }
}

TEST(BeginSamples, slots_countersinks_round_bottoms_bosses_and_grooves_on_shafts) {
  const solid::Model slots = must(solid::read_step_text(must(solid::sample_solid("slots")), "slots"));
  const Begun b = must(begin(slots, {}, nullptr, "", plain()));
  std::map<std::string, int> kinds;
  for (const auto& f : b.plan.features) ++kinds[f.kind.value];
  EXPECT_GE(kinds["slot"], 2);
  EXPECT_GE(kinds["pocket"], 1);
  EXPECT_EQ(kinds["chamfer"], 1);  // the countersink
  EXPECT_EQ(kinds["boss"], 1);
  const auto note = [&](const char* words) {
    return std::any_of(b.plan.features.begin(), b.plan.features.end(),
                       [&](const auto& f) { return f.note.value.find(words) != std::string::npos; });
  };
  EXPECT_TRUE(note("round bottom"));
  EXPECT_TRUE(note("through"));
  const solid::Model shaft = must(solid::read_step_text(must(solid::sample_solid("shaft")), "shaft"));
  const Begun s = must(begin(shaft, {}, nullptr, "", plain()));
  EXPECT_EQ(feature(s.plan, "G1").name.value, "groove round a shaft");
}

}  // namespace
}  // namespace fettle::begin
