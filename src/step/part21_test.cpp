#include "step/part21.h"

#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>

#include "base/text.h"

namespace fettle::step {
namespace {

std::string file_with(const std::string& data, const std::string& header = "FILE_SCHEMA(('X'));") {
  return "ISO-10303-21;\nHEADER;\n" + header + "\nENDSEC;\nDATA;\n" + data + "\nENDSEC;\nEND-ISO-10303-21;\n";
}
Outcome<File> read(const std::string& data) { return parse(file_with(data), "t.stp"); }

const Value& first(const File& f, std::uint64_t id, std::size_t i = 0) {
  return f.parameters(f.records(*f.find(id))[0])[i];
}

TEST(Part21, reads_every_kind_of_value) {
  auto f =
      read("#1=THING('it''s',#2,-12,+1.5E-3,.TRUE.,\"0F\",$,*,(1,(2,3)),LENGTH_MEASURE(5.),());\n#2 = OTHER ( ) ;");
  ASSERT_TRUE(f.ok()) << say(f.problem());
  const auto p = f->parameters(f->records(*f->find(1))[0]);
  ASSERT_EQ(p.size(), 11u);
  EXPECT_EQ(f->string(p[0]), "it's");
  EXPECT_EQ(p[1].kind, Kind::reference);
  EXPECT_EQ(p[1].id, 2u);
  EXPECT_EQ(p[2].kind, Kind::integer);
  EXPECT_EQ(p[2].number, -12);
  EXPECT_EQ(p[3].kind, Kind::real);
  EXPECT_EQ(p[3].number, 1.5e-3);
  EXPECT_EQ(f->raw(p[4]), "TRUE");
  EXPECT_EQ(f->raw(p[5]), "0F");
  EXPECT_EQ(p[6].kind, Kind::missing);
  EXPECT_EQ(p[7].kind, Kind::derived);
  ASSERT_EQ(f->items(p[8]).size(), 2u);
  EXPECT_EQ(f->items(f->items(p[8])[1])[1].number, 3);
  EXPECT_EQ(f->raw(p[9]), "LENGTH_MEASURE");
  EXPECT_EQ(f->items(p[9])[0].number, 5);
  EXPECT_EQ(p[10].kind, Kind::list);
  EXPECT_EQ(p[10].count, 0u);
  EXPECT_EQ(f->schemas(), std::vector<std::string>{"X"});
}

TEST(Part21, complex_instances_and_look_up) {
  auto f = read("#7=(A(1)B()C(#9));\n#9=B();\n#8=B(#9,#9,#404);");
  ASSERT_TRUE(f.ok()) << say(f.problem());
  const Instance& e = *f->find(7);
  EXPECT_EQ(f->records(e).size(), 3u);
  EXPECT_NE(f->record(e, "B"), nullptr);
  EXPECT_EQ(f->record(e, "D"), nullptr);
  EXPECT_EQ(f->all("B").size(), 3u);
  EXPECT_EQ(f->all("D").size(), 0u);
  const auto users = f->users(*f->find(9));
  ASSERT_EQ(users.size(), 2u);  // #7 and #8, each once
  EXPECT_EQ(f->instances()[users[1]].id, 8u);
  ASSERT_EQ(f->dangling().size(), 1u);
  EXPECT_EQ(f->dangling()[0].to, 404u);
  EXPECT_EQ(f->find(404), nullptr);
}

TEST(Part21, texts_of_all_encodings) {
  EXPECT_EQ(decode("a''b"), "a'b");
  EXPECT_EQ(decode("DIM\\\\w2X"), "DIM\\w2X");
  EXPECT_EQ(decode("\\X2\\00B10394\\X0\\ x"), "±Δ x");
  EXPECT_EQ(decode("\\X2\\D83DDE00\\X0\\"), "\xF0\x9F\x98\x80");
  EXPECT_EQ(decode("\\X4\\0001F600\\X0\\"), "\xF0\x9F\x98\x80");
  EXPECT_EQ(decode("\\X\\E9\\S\\i"), "éé");
  EXPECT_EQ(decode("\xC3\xA9"), "é");         // UTF-8 as it is
  EXPECT_EQ(decode("\xE9"), "é");             // Latin-1
  EXPECT_EQ(decode("\\X2\\00"), "\\X2\\00");  // broken: as typed
  EXPECT_EQ(decode("\\X2\\D83D\\X0\\"), "\xEF\xBF\xBD");
  EXPECT_EQ(decode("one\r\n two"), "one two");  // broken line within a text
  EXPECT_EQ(decode("\\"), "\\");
}

TEST(Part21, line_ends_comments_and_mark) {
  std::string text = file_with("/* a ; comment ' */ #1=A(1,/* b */2);");
  auto f = parse("\xEF\xBB\xBF" + text);
  ASSERT_TRUE(f.ok()) << say(f.problem());
  EXPECT_EQ(first(*f, 1, 1).number, 2);
  EXPECT_EQ(slim_copy(*f), text);
  for (const char* end : {"\r", "\r\n"}) {
    std::string other;
    for (char c : text) c == '\n' ? other += end : other += c;
    EXPECT_TRUE(parse(other).ok());
  }
}

struct Bad {
  std::string text, what;
  int line, column;
};

TEST(Part21, refuses_with_line_and_column) {
  const std::vector<Bad> bads = {
      {"", "the file is empty", 1, 1},
      {"hello", "not a STEP file", 1, 1},
      {std::string("\xFF\xFEI\0S\0", 6), "UTF-16", 1, 1},
      {"ISO-10303-21;\nHEADER;\nENDSEC;\nEND-ISO-10303-21;\n", "no DATA section", 4, 1},
      {file_with(""), "no entities", 8, 18},
      {file_with("#1=A(1)\n#2=B();"), "cannot stand here", 7, 1},
      {file_with("#1=A(1;"), "cannot stand here", 6, 7},
      {file_with("#1=A(1,);"), "cannot stand here", 6, 8},
      {file_with("#1=A(,1);"), "cannot stand here", 6, 6},
      {file_with("#1=A(1 2);"), "cannot stand here", 6, 8},
      {file_with("#1=A(NAN);"), "not a finite number", 6, 6},
      {file_with("#1=A(-NAN);"), "not a number", 6, 6},
      {file_with("#1=A(1.#QNAN);"), "not a number", 6, 6},
      {file_with("#1=A(1.E400);"), "too large", 6, 6},
      {file_with("#1=A(1.2.3);"), "not a number", 6, 6},
      {file_with("#1=A(.5);"), "digit before its point", 6, 6},
      {file_with("#1=A('x);"), "without closing quote", 6, 6},
      {file_with("#1=A(.T);"), "cannot stand here", 6, 8},
      {file_with("#1=A(\"0G\");"), "cannot stand here", 6, 8},
      {file_with("#1=a();"), "capitals", 6, 4},
      {file_with("#1=();"), "cannot stand here", 6, 5},
      {file_with("#=A();"), "# without a number", 6, 1},
      {file_with("#99999999999999999999=A();"), "too large", 6, 1},
      {file_with("#1=A();\n#1=B();"), "used twice (first in line 6)", 7, 1},
      {file_with("#1=A(); /* b"), "comment without end", 6, 9},
      {file_with("'\xC3\xA9' #1=A();"), "cannot stand here", 6, 1},
      {file_with("#1=A('\xC3\xA9\xC3\xA9',?);"), "cannot stand here", 6, 11},  // columns count code points
      {"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=A();\n", "the file ends too early", 6, 1},
      {file_with("#1=A();").substr(0, 60), "the file ends too early", 6, 5},
  };
  for (const Bad& b : bads) {
    auto f = parse(b.text, "t.stp");
    ASSERT_FALSE(f.ok()) << b.text;
    ASSERT_EQ(f.problems().size(), 1u);
    const Problem& p = f.problem();
    EXPECT_NE(p.what.find(b.what), std::string::npos) << b.text << "\n-> " << say(p);
    EXPECT_EQ(p.where.line, b.line) << b.text << "\n-> " << say(p);
    EXPECT_EQ(p.where.column, b.column) << b.text << "\n-> " << say(p);
    EXPECT_EQ(p.where.file, "t.stp");
  }
}

TEST(Part21, every_bound_refuses_one_more_and_takes_the_last) {
  Limits small;
  small.nesting = 4;
  small.list_length = 5;
  small.mesh_list_length = 7;
  small.text_bytes = 6;
  small.instances = 3;
  auto ok = [&](const std::string& data) { return parse(file_with(data, ""), "", small).ok(); };
  EXPECT_TRUE(ok("#1=A((((1))));"));
  EXPECT_FALSE(ok("#1=A(((((1)))));"));
  EXPECT_TRUE(ok("#1=A((1,2,3,4,5));"));
  EXPECT_FALSE(ok("#1=A((1,2,3,4,5,6));"));
  EXPECT_FALSE(ok("#1=A(1,2,3,4,5,6);"));
  EXPECT_TRUE(ok("#1=COORDINATES_LIST('',7,((1,2,3),(1),(1),(1),(1),(1),(1)));"));
  EXPECT_FALSE(ok("#1=COORDINATES_LIST('',8,((1,2,3),(1),(1),(1),(1),(1),(1),(1)));"));
  EXPECT_TRUE(ok("#1=A('123456');"));
  EXPECT_FALSE(ok("#1=A('1234567');"));
  EXPECT_TRUE(ok("#1=A();#2=A();#3=A();"));
  EXPECT_FALSE(ok("#1=A();#2=A();#3=A();#4=A();"));
  small.bytes = 10;
  EXPECT_FALSE(ok("#1=A();"));
}

TEST(Part21, bombs_are_refused_at_once) {
  const auto start = std::chrono::steady_clock::now();
  const std::string deep(1'000'000, '(');
  EXPECT_FALSE(read("#1=A(" + deep).ok());
  EXPECT_FALSE(read("#1=" + deep).ok());
  std::string typed;
  for (int i = 0; i < 100'000; ++i) typed += "X(";
  EXPECT_FALSE(read("#1=A(" + typed).ok());
  EXPECT_FALSE(read("#1=A('" + std::string(5'000'000, 'x') + "');").ok());
  std::string list = "#1=A((1";
  for (int i = 0; i < 1'000'000; ++i) list += ",1";
  EXPECT_FALSE(read(list + "));").ok());
  EXPECT_LT(std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(), 1.0);
}

TEST(Part21, slim_copy_empties_annotation_meshes_only) {
  const std::string data =
      "#1=COORDINATES_LIST('a(b',2,((0.,1.,2.),\n(3.,4.,5.)));\n#2=TESSELLATED_CURVE_SET('',#1,((1,2)));\n"
      "#3=COMPLEX_TRIANGULATED_SURFACE_SET('',#1,2,((0.,0.,1.)),(),(1,2),((1,2,3)),());\n"
      "#4=CARTESIAN_POINT('',(1.,2.,3.));\n#5=(COORDINATES_LIST(1,((1.,2.,3.)))X((1,2)));";
  auto f = read(data);
  ASSERT_TRUE(f.ok()) << say(f.problem());
  EXPECT_EQ(slim_copy(*f), file_with("#1=COORDINATES_LIST('a(b',2,());\n#2=TESSELLATED_CURVE_SET('',#1,());\n"
                                     "#3=COMPLEX_TRIANGULATED_SURFACE_SET('',#1,2,(),(),(),(),());\n"
                                     "#4=CARTESIAN_POINT('',(1.,2.,3.));\n#5=(COORDINATES_LIST(1,())X((1,2)));"));
  EXPECT_TRUE(parse(slim_copy(*f)).ok());
  EXPECT_EQ(f->items(first(*f, 1, 2)).size(), 0u);  // not even held in memory
  EXPECT_EQ(f->items(first(*f, 4, 1)).size(), 3u);
}

TEST(Part21, two_megabytes_in_a_fraction_of_a_second) {
  std::string data;
  int n = 0;
  while (data.size() < 2'000'000) {
    ++n;
    data += "#" + std::to_string(2 * n) + "=CARTESIAN_POINT('',(" + std::to_string(n) + ".25,-1.5E-3,0.));\n";
    data += "#" + std::to_string(2 * n + 1) + "=VERTEX_POINT('',#" + std::to_string(2 * n) + ");\n";
  }
  const std::string text = file_with(data);
  const auto start = std::chrono::steady_clock::now();
  auto f = parse(text);
  ASSERT_TRUE(f.ok()) << say(f.problem());
  const std::string slim = slim_copy(*f);
  const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  EXPECT_EQ(slim, text);
  EXPECT_LT(seconds, 0.3);
  std::printf("%.1f MB parsed and copied in %.0f ms\n", static_cast<double>(text.size()) / 1e6, 1000 * seconds);
}

}  // namespace
}  // namespace fettle::step
