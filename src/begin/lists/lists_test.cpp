#include "begin/lists/lists.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/text.h"
#include "begin/lists/apply.h"
#include "begin/propose/written.h"
#include "plan/read.h"

namespace fettle::begin {
namespace {

using testing::HasSubstr;

template <class T>
std::string all(const Outcome<T>& o) {
  std::string out;
  if (o.ok()) return "ok";
  for (const Problem& p : o.problems()) out += say(p) + "\n";
  return out;
}

const std::string shop_text =
    "fettle = 1\n[shop]\nname = \"small\"\n\n[[tool]]\nid = \"T1\"\nname = \"mill\"\nkind = \"end mill\"\n"
    "diameter = \"16 mm\"\nteeth = 5\n\n[[tool]]\nid = \"T2\"\nkind = \"drill\"\ndiameter = \"6.8 mm\"\n"
    "price = \"10 EUR\"\n";

Outcome<plan::Shop> shop_of(const std::string& text) {
  auto p = plan::read_plan("fettle = 1\n[plan]\nname = \"x\"\nshop = \"s\"\n", "p",
                           [&](const std::string&) -> Outcome<std::string> { return text; });
  if (p.ok()) return p->shop;
  return p.problems();
}
Outcome<FilledShop> filled(const std::string& tools, const std::string& holders = {}) {
  const auto shop = shop_of(shop_text);
  if (!shop.ok()) return shop.problems();
  std::optional<ToolList> t;
  std::optional<HolderList> h;
  if (!tools.empty()) {
    auto l = read_tool_list(tools, "tools.csv");
    if (!l.ok()) return l.problems();
    t = std::move(l.value());
  }
  if (!holders.empty()) {
    auto l = read_holder_list(holders, "holders.csv");
    if (!l.ok()) return l.problems();
    h = std::move(l.value());
  }
  return fill_shop(*shop, shop_text, "shop.toml", t, h);
}
const plan::Tool* tool(const plan::Shop& s, const std::string& id) {
  for (const plan::Tool& t : s.tools)
    if (t.id.value == id) return &t;
  return nullptr;
}

TEST(ToolList, german_with_decimal_commas) {
  const auto l = read_tool_list(
      "Werkzeug;Bezeichnung;Art;Durchmesser [mm];Zähne;Ausspannlänge (mm);Schneidstoff;Eckenradius [mm];Preis [EUR]\n"
      "T5;\"Reibahle 8; lang\";Reibahle;8,015;6;70;VHM;0,2;61,50\n"
      "T6;;SCHAFTFRÄSER;12,5;4;-;HSS;;\n",
      "w.csv");
  ASSERT_TRUE(l.ok()) << all(l);
  ASSERT_EQ(l->tools.size(), 2U);
  const plan::Tool& t = l->tools[0].tool;
  EXPECT_EQ(t.name.value, "Reibahle 8; lang");
  EXPECT_EQ(t.kind.value, "reamer");
  EXPECT_DOUBLE_EQ(t.diameter.si, 0.008015);  // 12,5 in the column says what the comma means
  EXPECT_EQ(t.teeth.value, 6);
  EXPECT_DOUBLE_EQ(t.stick_out.si, 0.070);
  EXPECT_EQ(t.material.value, "carbide");
  EXPECT_DOUBLE_EQ(t.corner_radius.si, 0.0002);
  EXPECT_DOUBLE_EQ(t.price.si, 61.5);
  EXPECT_EQ(l->tools[1].tool.kind.value, "end mill");
  EXPECT_EQ(l->tools[1].tool.material.value, "high-speed steel");
  EXPECT_FALSE(l->tools[1].tool.stick_out.known());
  EXPECT_EQ(l->tools[1].where.line, 3);
}

TEST(ToolList, inches_and_units_in_cells) {
  const auto l = read_tool_list("tool\tØ in\tz\treach\tholder\tcolour\nT7\t1/2\t4\t1.25 in\tØ44 mm\tred\n", "w.csv");
  ASSERT_TRUE(l.ok()) << all(l);
  EXPECT_DOUBLE_EQ(l->tools[0].tool.diameter.si, 0.0127);
  EXPECT_DOUBLE_EQ(l->tools[0].tool.neck_length.si, 0.03175);
  EXPECT_DOUBLE_EQ(l->tools[0].tool.holder.si, 0.044);
  ASSERT_EQ(l->notes.size(), 1U);
  EXPECT_THAT(l->notes[0], HasSubstr("w.csv:1:"));
  EXPECT_THAT(l->notes[0], HasSubstr("colour"));
}

struct Bad {
  std::string text, place, words;
};
TEST(ToolList, bad_files_say_where_and_what) {
  const std::vector<Bad> bad = {
      {"", "w.csv:1:1", "empty"},
      {"\xff\xfe", "w.csv:1:1", "UTF-8"},
      {"tool;dia [mm]\n", "w.csv:1:1", "no readings"},
      {"dia [mm];z\n16;4\n", "w.csv:1:1", "no column for the id"},
      {"tool;dia\nT1;16\n", "w.csv:2:4", "did you mean \"16 mm\""},
      {"tool;dia\nT1;0,375\n", "w.csv:2:4", "did you mean \"0,375 in\""},
      {"tool;dia [mm]\nT1;1,234\n", "w.csv:2:4", "1,234"},
      {"tool;dia [mm]\nT1;16;4\n", "w.csv:2:1", "another number of cells"},
      {"tool;dia [kg]\nT1;16\n", "w.csv:2:4", "16"},
      {"tool;dia [mm]\nT1;-16\n", "w.csv:2:4", "out of range"},
      {"tool;dia [mm]\nT1;thick\n", "w.csv:2:4", "thick"},
      {"tool;dia [mm];Ø [in]\nT1;16;1\n", "w.csv:1:15", "say the same"},
      {"tool;z\nT1;4.5\n", "w.csv:2:4", "no whole number"},
      {"tool;z\nT1;0\n", "w.csv:2:4", "1 to 200"},
      {"tool;z\nT1;4\nT1;5\n", "w.csv:3:1", "stands twice"},
      {"tool;z\n;4\n", "w.csv:2:1", "without its id"},
      {"tool;Art\nT1;Reibale\n", "w.csv:2:4", "did you mean \"reamer\""},
      {"tool;material\nT1;Hartmetal\n", "w.csv:2:4", "did you mean \"carbide\""},
      {"tool;price\nT1;54\n", "w.csv:2:4", "no unit"},
  };
  for (const Bad& b : bad) {
    const auto l = read_tool_list(b.text, "w.csv");
    ASSERT_FALSE(l.ok()) << b.text;
    EXPECT_THAT(all(l), HasSubstr(b.place + ":")) << b.text;
    EXPECT_THAT(all(l), HasSubstr(b.words)) << b.text;
    for (const Problem& p : l.problems()) EXPECT_EQ(p.fault, Fault::bad_input);
  }
}

TEST(ToolList, what_spreadsheets_put_round_a_list_is_passed_over) {
  const std::vector<std::string> texts = {"\xef\xbb\xbfsep=;\r\nWerkzeug;Art;Durchmesser [mm]\r\nT40;Bohrer;10,2\r\n",
                                          "Werkzeugliste Halle 2;;\nWerkzeug;Art;Durchmesser [mm]\nT40;Bohrer;10,2\n",
                                          "Werkzeugliste Halle 2\n\nWerkzeug;Art;Durchmesser [mm]\nT40;Bohrer;10,2\n",
                                          "Werkzeug;Art;Durchmesser [mm];;\nT40;Bohrer;10,2;;\n;;;;\n",
                                          "tool,kind,dia [mm],\nT40,drill,10.2,\n,,,\n"};
  for (const std::string& text : texts) {
    const auto l = read_tool_list(text, "w.csv");
    ASSERT_TRUE(l.ok()) << text << all(l);
    ASSERT_EQ(l->tools.size(), 1U) << text;
    EXPECT_NEAR(l->tools[0].tool.diameter.si, 0.0102, 1e-12) << text;
  }
  // The places stay those of the file.
  const auto bad = read_tool_list("sep=;\nListe;;\nWerkzeug;Art;Durchmesser [mm];\nT40;Borer;10,2;\n", "w.csv");
  EXPECT_THAT(all(bad), HasSubstr("w.csv:4:5:"));
  EXPECT_THAT(all(read_tool_list("tool;dia [mm];\nT1;16;4\n", "w.csv")), HasSubstr("another number of cells"));
}

TEST(TimeList, as_a_stopwatch_shows_it) {
  const auto l = read_time_list("AG;Werkzeug;Zeit [min]\nOP30;T20;0:21\nOP30;T11;1:05,5\n", "t.csv");
  ASSERT_TRUE(l.ok()) << all(l);
  EXPECT_DOUBLE_EQ(l->times[0].seconds[0], 21);
  EXPECT_DOUBLE_EQ(l->times[1].seconds[0], 65.5);
  for (const char* cell : {"0:61", "1:5", "1:5.5", "1:5,", "1:05,", "1:005", "1:+5", "0:00", "a:10", "-1:10"})
    EXPECT_THAT(all(read_time_list(std::string("op;time [min]\nOP30;") + cell + "\n", "t.csv")),
                HasSubstr("t.csv:2:6: a time with a colon"))
        << cell;
  EXPECT_THAT(all(read_time_list("op;time [s]\nOP30;0:21\n", "t.csv")), HasSubstr("a column of minutes"));
}

TEST(ToolList, all_problems_at_once) {
  const auto l = read_tool_list("tool;dia;z\nT1;16;4\nT2;5 mm\nT3;5 kg;0\n", "w.csv");
  ASSERT_FALSE(l.ok());
  ASSERT_EQ(l.problems().size(), 4U) << all(l);
  EXPECT_EQ(l.problems()[0].where.line, 2);
  EXPECT_EQ(l.problems()[1].where.line, 3);
  EXPECT_EQ(l.problems()[2].where.line, 4);
  EXPECT_EQ(l.problems()[3].where.column, 9);
}

TEST(HolderList, good_and_bad) {
  const auto l = read_holder_list("Halter;Durchmesser;Ausspannlänge [mm]\nkurz;44 mm;52,5\n", "h.csv");
  ASSERT_TRUE(l.ok()) << all(l);
  EXPECT_DOUBLE_EQ(l->holders[0].diameter.si, 0.044);
  EXPECT_DOUBLE_EQ(l->holders[0].stick_out.si, 0.0525);
  const std::vector<Bad> bad = {
      {"dia [mm]\n44\n", "h.csv:1:1", "no column for the name"},
      {"holder;dia\nA;44\n", "h.csv:2:3", "did you mean \"44 mm\""},
      {"holder;dia [mm]\nA;\n", "h.csv:2:1", "says nothing"},
      {"holder;dia [mm]\n;44\n", "h.csv:2:1", "without its name"},
      {"holder;dia [mm]\nA;44\nA;45\n", "h.csv:3:1", "stands twice"},
  };
  for (const Bad& b : bad) {
    const auto o = read_holder_list(b.text, "h.csv");
    EXPECT_THAT(all(o), HasSubstr(b.place + ":")) << b.text;
    EXPECT_THAT(all(o), HasSubstr(b.words)) << b.text;
  }
}

TEST(TimeList, good_and_bad) {
  const auto l = read_time_list("Arbeitsgang;Werkzeug;Minuten\nOP30;T11;1,5\nOP30;T11;1,7\nOP40;;2,0\n", "t.csv");
  ASSERT_TRUE(l.ok()) << all(l);
  ASSERT_EQ(l->times.size(), 2U);
  EXPECT_DOUBLE_EQ(l->times[0].seconds[0], 90);
  EXPECT_DOUBLE_EQ(l->times[0].seconds[1], 102);
  EXPECT_EQ(l->times[1].tool, "");
  const std::vector<Bad> bad = {
      {"tool;time [min]\nT1;2\n", "t.csv:1:1", "no column for the operation"},
      {"operation;tool\nOP30;T1\n", "t.csv:1:1", "no column for the time"},
      {"operation;time\nOP30;2\n", "t.csv:2:6", "did you mean \"2 min\""},
      {"operation;time [mm]\nOP30;2\n", "t.csv:2:6", "time"},
      {"operation;time [s]\n;2\n", "t.csv:2:1", "without its operation"},
      {"operation;time [s]\nOP30;\n", "t.csv:2:6", "empty cell"},
      {"operation;time [s]\nOP30;0\n", "t.csv:2:6", "more than 0"},
  };
  for (const Bad& b : bad) {
    const auto o = read_time_list(b.text, "t.csv");
    EXPECT_THAT(all(o), HasSubstr(b.place + ":")) << b.text;
    EXPECT_THAT(all(o), HasSubstr(b.words)) << b.text;
  }
}

TEST(FillShop, only_what_is_missing_and_new_tools) {
  const auto f = filled("tool;kind;dia [mm];z;holder;price\nT1;;16;;kurz;54 EUR\nT9;drill;10,5;2;;\n",
                        "holder;tool;dia [mm];stick out [mm]\nkurz;;44;52\nH2;T2;32;40\n");
  ASSERT_TRUE(f.ok()) << all(f);
  const auto s = shop_of(f->text);
  ASSERT_TRUE(s.ok()) << all(s) << f->text;
  ASSERT_EQ(s->tools.size(), 3U);
  EXPECT_DOUBLE_EQ(tool(*s, "T1")->holder.si, 0.044);
  EXPECT_DOUBLE_EQ(tool(*s, "T1")->stick_out.si, 0.052);
  EXPECT_DOUBLE_EQ(tool(*s, "T1")->price.si, 54);
  EXPECT_EQ(tool(*s, "T1")->teeth.value, 5);
  EXPECT_DOUBLE_EQ(tool(*s, "T2")->holder.si, 0.032);
  EXPECT_DOUBLE_EQ(tool(*s, "T9")->diameter.si, 0.0105);
  EXPECT_THAT(f->text, HasSubstr("holder = \"44 mm\"  # holders.csv, line 2"));
  ASSERT_EQ(f->choices.size(), 3U);
  EXPECT_EQ(f->choices[0].about, "tool.T1");
  EXPECT_EQ(f->choices[0].asked_by, "list");
  EXPECT_THAT(f->choices[0].why, HasSubstr("tools.csv, line 2; holders.csv, line 2"));
}

TEST(FillShop, contradictions_name_both) {
  const std::string two = all(filled("tool;dia [mm];z\nT1;16.5;4\n"));
  EXPECT_THAT(two, HasSubstr("tools.csv:2:4: diameter of T1 is said otherwise"));
  EXPECT_THAT(two, HasSubstr("16.5 mm"));
  EXPECT_THAT(two, HasSubstr("16 mm, as in shop.toml, line 9"));
  EXPECT_THAT(two, HasSubstr("tools.csv:2:9: teeth of T1 is said otherwise"));
  EXPECT_THAT(all(filled("tool;price\nT2;10 USD\n")), HasSubstr("tools.csv:2:4: price of T2 is"));
  EXPECT_THAT(all(filled("tool;holder\nT1;44 mm\n", "holder;tool;dia\nA;T1;40 mm\n")),
              HasSubstr("holders.csv:2:1: holder of T1"));
  EXPECT_THAT(all(filled("tool;dia [mm]\nT77;4\n")), HasSubstr("needs its kind"));
  EXPECT_THAT(all(filled("tool;kind\nT77;drill\n")), HasSubstr("needs its diameter"));
  EXPECT_THAT(all(filled("", "holder;tool;dia\nA;T3;40 mm\n")), HasSubstr("a tool that nobody knows"));
  EXPECT_THAT(all(filled("tool;holder\nT1;kurtz\n", "holder;dia\nkurz;40 mm\n")), HasSubstr("did you mean \"kurz\""));
  EXPECT_EQ(all(filled("tool;dia [in]\nT1;0.6299212598425197\n")), "ok");  // 16 mm
}

TEST(PutTimes, into_cuts_and_operations) {
  Draft d;
  plan::Operation cutting, hand;
  cutting.id.value = "OP30", hand.id.value = "OP40";
  for (const char* id : {"T11", "T5", "T5"}) cutting.cuts.emplace_back().tool.value = id;
  d.plan.operations = {cutting, hand};
  const auto l = read_time_list(
      "op;tool;minutes\nOP30;T11;1.5\nOP30;T11;1.7\nOP40;;2\nOP30;;9\nOP30;T5;1\nOP99;T1;1\nOP30;T8;1\n", "t.csv");
  ASSERT_TRUE(l.ok()) << all(l);
  put_times(*l, d);
  const plan::Number& t = d.plan.operations[0].cuts[0].time;
  EXPECT_DOUBLE_EQ(t.si, 96);
  EXPECT_DOUBLE_EQ(t.low, 90);
  EXPECT_DOUBLE_EQ(t.high, 102);
  EXPECT_DOUBLE_EQ(d.plan.operations[1].time.si, 120);
  EXPECT_FALSE(d.plan.operations[0].cuts[1].time.known());
  ASSERT_EQ(d.choices.size(), 2U);
  EXPECT_EQ(d.choices[0].asked_by, "stopwatch");
  EXPECT_EQ(d.choices[0].about, "operation.OP30.cut.T11.time");
  EXPECT_THAT(d.choices[0].why, HasSubstr("t.csv, lines 2, 3"));
  EXPECT_EQ(d.disagree.size(), 4U);
}

TEST(PutTimes, a_proposal_is_written_and_read_with_them) {
  const auto l = read_time_list("op;minutes\nOP40;2\n", "t.csv");
  ASSERT_TRUE(l.ok()) << all(l);
  Draft d;
  d.plan.header.name.value = "x", d.plan.header.name.origin = plan::Origin::given;
  plan::Operation& o = d.plan.operations.emplace_back();
  o.id.value = "OP40", o.id.origin = plan::Origin::given;
  o.kind.value = "deburr", o.kind.origin = plan::Origin::given;
  Scene scene;
  scene.known = [&](Draft& with) { put_times(*l, with); };
  study::Memo memo;
  const auto seen = look(scene, d, {}, quick_look(), memo);
  ASSERT_TRUE(seen.ok()) << all(seen);
  EXPECT_THAT(seen->text, HasSubstr("operation.OP40.time: 120 s. t.csv, line 2 [stopwatch]"));
  EXPECT_DOUBLE_EQ(seen->plan.operations.at(0).time.si, 120);
  EXPECT_TRUE(d.choices.empty());  // what is looked at is a copy; nothing is said twice
}

}  // namespace
}  // namespace fettle::begin
