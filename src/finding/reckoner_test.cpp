#include "finding/reckoner.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

namespace fettle::finding {
namespace {

using Form = ReckonerInput::Form;
using nlohmann::json;
using Given = std::vector<std::pair<std::string, std::string>>;
using testing::HasSubstr;

/// A little reckoner with one input of every form.
Reckoner sample() {
  Reckoner r;
  r.name = "draw";
  r.science = "sample";
  r.question = "What force draws it?";
  ReckonerInput torque{Form::quantity, "torque", unit::Kind::torque, "at the wrench"};
  torque.low = 1;
  torque.high = 100;
  ReckonerInput friction{Form::quantity,       "friction", unit::Kind::number,
                         "at head and thread", "0.15",     "common practice"};
  friction.low = 0.01;
  friction.high = 1;
  ReckonerInput screws{Form::integer, "screws", unit::Kind::number, "how many", "1"};
  screws.low = 1;
  screws.high = 12;
  ReckonerInput state{Form::choice, "state", unit::Kind::number, "of the thread", "dry"};
  state.choices = {"dry", "oiled"};
  ReckonerInput bore{Form::limits, "bore", unit::Kind::length, "of the hole"};
  bore.low = 0.001;
  bore.high = 0.1;
  bore.optional = true;
  ReckonerInput note{Form::text, "note", unit::Kind::number, "anything"};
  note.optional = true;
  ReckonerInput torque_end = torque;
  torque_end.name = "torque_end";
  torque_end.optional = true;
  r.inputs = {torque, friction, screws, state, bore, note, torque_end};
  r.outputs = {{"force", unit::Kind::force, "in the screw"}, {"said", unit::Kind::number, "in words"}};
  r.formula = "F = T / (5 mu d)";
  r.source = "common practice";
  r.range = "metal on metal";
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ReckonerAnswer a;
    a.number["force"] = v["torque"] / v["friction"] * v["screws"];
    a.text["said"] = v.text.at("state");
    a.sentence = "It draws.";
    return a;
  };
  return r;
}

std::string all(const Problems& problems) {
  std::string s;
  for (const Problem& p : problems) s += say(p) + "\n";
  return s;
}
std::string refused(const Given& given) {
  const auto values = read_values(sample(), given);
  return values ? "" : all(values.problems());
}
std::string refused_json(const json& object) {
  const auto values = read_values(sample(), object);
  return values ? "" : all(values.problems());
}

TEST(ReadTexts, ReadsEveryFormAndFillsDefaults) {
  const auto v = read_values(
      sample(), Given{{"torque", "28 N·m"}, {"bore", "8.000..8.015 mm"}, {"state", "Oiled"}, {"note", " x "}});
  ASSERT_TRUE(v.ok()) << all(v.problems());
  EXPECT_DOUBLE_EQ((*v)["torque"], 28);
  EXPECT_DOUBLE_EQ((*v)["friction"], 0.15);
  EXPECT_DOUBLE_EQ((*v)["screws"], 1);
  EXPECT_EQ(v->text.at("state"), "oiled");
  EXPECT_NEAR(*v->limits.at("bore").upper, 0.008015, 1e-12);
  EXPECT_TRUE(v->has("note"));
  EXPECT_FALSE(v->has("torque_end"));
}

TEST(ReadTexts, SaysEveryProblemAtOnce) {
  const std::string said =
      refused({{"torqe", "28 N·m"}, {"friction", "0.15 mm"}, {"screws", "1.5"}, {"state", "oild"}, {"bore", "wide"}});
  EXPECT_THAT(said, HasSubstr("did you mean \"torque\"?"));
  EXPECT_THAT(said, HasSubstr("friction: "));
  EXPECT_THAT(said, HasSubstr("screws: not a whole number"));
  EXPECT_THAT(said, HasSubstr("did you mean \"oiled\"?"));
  EXPECT_THAT(said, HasSubstr("bore: "));
  EXPECT_THAT(said, HasSubstr("torque is missing: at the wrench"));
}

TEST(ReadTexts, RefusesABareNumberWhereADimensionIsMeant) {
  EXPECT_THAT(refused({{"torque", "28"}}), HasSubstr("torque: "));
  EXPECT_EQ(refused({{"torque", "28 N·m"}, {"friction", "0.2"}}), "");
}

TEST(ReadTexts, RefusesTheWrongKind) { EXPECT_THAT(refused({{"torque", "28 mm"}}), HasSubstr("torque")); }

TEST(ReadTexts, BoundsAreSaidInThePersonsUnits) {
  EXPECT_THAT(refused({{"torque", "0.99 N·m"}}), HasSubstr("expected 1 to 100 N·m"));
  EXPECT_THAT(refused({{"torque", "100.01 N·m"}}), HasSubstr("expected 1 to 100 N·m"));
  EXPECT_THAT(refused({{"torque", "2000 lbf·in"}}), HasSubstr("lbf·in"));
  EXPECT_THAT(refused({{"torque", "2000 lbf·in"}}), HasSubstr("expected 8.85075 to 885.075"));
  EXPECT_EQ(refused({{"torque", "1 N·m"}}), "");
  EXPECT_EQ(refused({{"torque", "100 N·m"}}), "");
  EXPECT_NE(refused({{"torque", "1 N·m"}, {"screws", "0"}}), "");
  EXPECT_NE(refused({{"torque", "1 N·m"}, {"screws", "13"}}), "");
  EXPECT_NE(refused({{"torque", "1 N·m"}, {"bore", "0.5..8 mm"}}), "");
  EXPECT_NE(refused({{"torque", "1 N·m"}, {"bore", "8..100.5 mm"}}), "");
}

TEST(ReadTexts, ABoundTypedInAnotherUnitIsOnTheBound) {
  Reckoner r = sample();
  r.inputs[0].kind = unit::Kind::length;
  r.inputs[0].high = 16 * 0.0254;  // may differ from the parsed 16 in by a bit or two
  r.inputs[0].low = 0.1 * 0.0254;
  for (const char* text : {"16 in", "406.4 mm", "0.1 in", "2.54 mm"}) {
    const auto w = read_values(r, Given{{"torque", text}});
    ASSERT_TRUE(w.ok()) << text << all(w.problems());
    EXPECT_TRUE((*w)["torque"] >= r.inputs[0].low && (*w)["torque"] <= r.inputs[0].high) << text;
  }
}

TEST(ReadTexts, RefusesTwiceEmptyAndBroken) {
  EXPECT_THAT(refused({{"torque", "1 N·m"}, {"torque", "2 N·m"}}), HasSubstr("given twice"));
  EXPECT_THAT(refused({{"torque", ""}}), HasSubstr("nothing is given"));
  EXPECT_NE(refused({{"torque", "1 N·m"}, {"note", "\xFF"}}), "");
  EXPECT_NE(refused({{"torque", "1 N·m"}, {"screws", "nan"}}), "");
  EXPECT_NE(refused({{"torque", "1 N·m"}, {"friction", "inf"}}), "");
  EXPECT_NE(refused({{"torque", "nan N·m"}}), "");
}

TEST(ReadTexts, ADefaultOfOursThatDoesNotReadIsOurFault) {
  Reckoner r = sample();
  r.inputs[1].fallback = "0.15 mm";
  const auto v = read_values(r, Given{{"torque", "1 N·m"}});
  ASSERT_FALSE(v.ok());
  EXPECT_EQ(v.problem().fault, Fault::our_fault);
}

TEST(ReadJson, TakesTextsAndNumbersUnderAKeyThatNamesTheUnit) {
  for (const char* text : {R"({"torque": "28 N·m"})", R"({"torque_Nm": 28})"}) {
    const auto v = read_values(sample(), json::parse(text));
    ASSERT_TRUE(v.ok()) << text << all(v.problems());
    EXPECT_DOUBLE_EQ((*v)["torque"], 28) << text;
  }
  const auto v =
      read_values(sample(), json::parse(R"({"torque_Nm": 28, "friction": 0.2, "screws": 2, "torque_end_Nm": 30})"));
  ASSERT_TRUE(v.ok()) << all(v.problems());
  EXPECT_DOUBLE_EQ((*v)["friction"], 0.2);
  EXPECT_DOUBLE_EQ((*v)["screws"], 2);
  EXPECT_DOUBLE_EQ((*v)["torque_end"], 30);
}

TEST(ReadJson, RefusesWhatCouldBeMisread) {
  EXPECT_THAT(refused_json(json::parse(R"({"torque": 28})")), HasSubstr("torque_Nm"));
  EXPECT_THAT(refused_json(json::parse(R"({"torque": 28})")), testing::Not(HasSubstr("missing")));
  EXPECT_THAT(refused_json(json::parse(R"({"torque_mm": 28})")), HasSubstr("names no unit of torque"));
  EXPECT_THAT(refused_json(json::parse(R"({"torque_Nm": "28"})")), HasSubstr("takes a number"));
  EXPECT_THAT(refused_json(json::parse(R"({"torque_Nm": 28, "torque": "28 N·m"})")), HasSubstr("given twice"));
  EXPECT_THAT(refused_json(json::parse(R"({"torque_Nm": 280})")), HasSubstr("expected 1 to 100"));
  EXPECT_THAT(refused_json(json::parse(R"({"torqeu_Nm": 28})")), HasSubstr("no input of that name"));
  for (const char* value : {"null", "true", "[1]", "{}"})
    EXPECT_NE(refused_json(json::parse(std::string(R"({"torque": )") + value + "}")), "") << value;
  for (const char* whole : {"[]", "3", "\"x\"", "null"}) EXPECT_NE(refused_json(json::parse(whole)), "") << whole;
  EXPECT_THAT(refused_json(json::parse(R"({"torque_end": 28})")), HasSubstr("torque is missing"));
}

TEST(Run, ChecksWhatTheFunctionGivesBack) {
  Reckoner r = sample();
  const ReckonerValues v = *read_values(r, Given{{"torque", "30 N·m"}});
  ASSERT_TRUE(run(r, v).ok());
  EXPECT_DOUBLE_EQ(run(r, v)->number.at("force"), 200);
  const auto fails = [&](const std::function<void(ReckonerAnswer&)>& spoil) {
    Reckoner bad_one = sample();
    bad_one.answer = [spoil, inner = r.answer](const ReckonerValues& x) {
      auto a = inner(x);
      spoil(*a);
      return a;
    };
    const auto answer = run(bad_one, v);
    return answer ? std::string() : all(answer.problems());
  };
  EXPECT_EQ(fails([](ReckonerAnswer&) {}), "");
  EXPECT_THAT(fails([](ReckonerAnswer& a) { a.number.erase("force"); }), HasSubstr("gave no force"));
  EXPECT_THAT(fails([](ReckonerAnswer& a) { a.number["force"] = NAN; }), HasSubstr("is not a number"));
  EXPECT_THAT(fails([](ReckonerAnswer& a) { a.number["force"] = INFINITY; }), HasSubstr("is not a number"));
  EXPECT_THAT(fails([](ReckonerAnswer& a) { a.number["other"] = 1; }), HasSubstr("does not describe"));
  EXPECT_THAT(fails([](ReckonerAnswer& a) { a.sentence.clear(); }), HasSubstr("no sentence"));
  EXPECT_EQ(fails([](ReckonerAnswer& a) {
              a.number.clear();
              a.text.clear();
              a.beyond = "too far";
            }),
            "");
}

TEST(Run, AFaultOfTheFunctionIsOursAndTravelsInTheOutcome) {
  Reckoner r = sample();
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> { return bad(std::to_string(v["absent"])); };
  EXPECT_EQ(run(r, {}).problem().fault, Fault::our_fault);
  r.answer = nullptr;
  EXPECT_EQ(run(r, {}).problem().fault, Fault::our_fault);
}

TEST(Describe, NamesInputsWithUnitsAndBounds) {
  const json j = describe(sample());
  EXPECT_EQ(j["name"], "draw");
  EXPECT_EQ(j["inputs"][0]["unit"], "N·m");
  EXPECT_EQ(j["inputs"][0]["least"], 1);
  EXPECT_EQ(j["inputs"][0]["most"], 100);
  EXPECT_EQ(j["inputs"][0]["required"], true);
  EXPECT_EQ(j["inputs"][0]["number_key"], "torque_Nm");
  EXPECT_EQ(j["inputs"][1]["required"], false);
  EXPECT_EQ(j["inputs"][1]["default"], "0.15");
  EXPECT_EQ(j["inputs"][3]["choices"], json({"dry", "oiled"}));
  EXPECT_EQ(j["inputs"][4]["required"], false);
  EXPECT_EQ(j["outputs"][0]["kind"], "force");
}

TEST(Answer, AsJsonNeverShowsANumberThatIsNone) {
  Reckoner r = sample();
  ReckonerAnswer a;
  a.beyond = "too far";
  a.number["force"] = NAN;
  const json j = to_json(r, a, {});
  EXPECT_EQ(j["state"], "beyond");
  EXPECT_TRUE(j["outputs"]["force"]["value"].is_null());
  EXPECT_TRUE(j["outputs"]["said"]["value"].is_null());
  a.beyond.clear();
  a.number["force"] = 1000;
  EXPECT_EQ(to_json(r, a, {})["outputs"]["force"]["si"], 1000);
  EXPECT_EQ(to_json(r, a, {})["state"], "answered");
}

/// A number can be given in every kind, under the key that the description names.
TEST(ReadJson, EveryKindHasAKey) {
  for (const unit::Unit& u : unit::units()) {
    Reckoner r = sample();
    r.inputs.resize(1);
    r.inputs[0].name = "x";
    r.inputs[0].kind = u.kind;
    r.inputs[0].low = -1e30;
    r.inputs[0].high = 1e30;
    const json described = describe(r);
    const std::string key = described["inputs"][0]["number_key"];
    const auto v = read_values(r, json{{key, 0.5}});
    EXPECT_TRUE(v.ok()) << u.symbol << " " << key << ": " << (v ? "" : all(v.problems()));
  }
}

}  // namespace
}  // namespace fettle::finding
