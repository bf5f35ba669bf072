#include "app/cli/program_make.h"

#include <gtest/gtest.h>

#include <filesystem>

#include "base/text.h"

namespace fettle::cli {
namespace {

namespace fs = std::filesystem;

std::string demo(const std::string& name) { return std::string(FETTLE_SOURCE_DIR) + "/plans/demo/" + name; }

struct ProgramMake : ::testing::Test {
  fs::path folder = fs::temp_directory_path() /
                    ("fettle-make-" + std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
  ProgramMake() { fs::remove_all(folder); }
  ~ProgramMake() override { fs::remove_all(folder); }
  ProgramMakeArguments of(const std::string& operation) const {
    ProgramMakeArguments a;
    a.plan = demo("plan-0.toml");
    a.operation = operation;
    a.out = folder.string();
    return a;
  }
  std::string text(const std::string& name) const {
    const auto t = base::read_file((folder / name).string());
    EXPECT_TRUE(t.ok()) << name;
    return t.ok() ? *t : "";
  }
};

TEST_F(ProgramMake, WritesProgramSheetAndTable) {
  EXPECT_EQ(program_make_command(of("OP30")), 0);
  EXPECT_NE(text("op30.nc").find("O300 (OP30 WVB-3 plan 0)"), std::string::npos);
  EXPECT_NE(text("op30-offsets.txt").find("OFFSETS AND SWITCHES"), std::string::npos);
  EXPECT_NE(text("op30-restart.txt").find("908"), std::string::npos);
  // Again over its own files: the same bytes.
  const std::string before = text("op30.nc");
  EXPECT_EQ(program_make_command(of("OP30")), 0);
  EXPECT_EQ(text("op30.nc"), before);
}

TEST_F(ProgramMake, SaysByItsCodeThatSomethingIsLeftOut) {
  EXPECT_EQ(program_make_command(of("OP20")), 4);  // the chamfer names no features
  EXPECT_NE(text("op20.nc").find("NOT MADE"), std::string::npos);
}

TEST_F(ProgramMake, BadInputIsTwoAndWritesNothing) {
  EXPECT_EQ(program_make_command(of("OP40")), 2);
  ProgramMakeArguments a = of("OP30");
  a.dialect = "clasic";
  EXPECT_EQ(program_make_command(a), 2);
  a = of("OP30");
  a.plan = demo("no-such-plan.toml");
  EXPECT_EQ(program_make_command(a), 2);
  a = of("");
  a.out.clear();
  EXPECT_EQ(program_make_command(a), 2);  // several operations and no folder
  a = of("");
  a.from = demo("shop.toml");
  EXPECT_EQ(program_make_command(a), 2);  // of which operation?
  a = of("OP30");
  a.from = demo("shop.toml");
  EXPECT_EQ(program_make_command(a), 2);  // no program
  EXPECT_FALSE(fs::exists(folder));
}

TEST_F(ProgramMake, OthersDialectAndOthersProgram) {
  fs::create_directories(folder);
  ASSERT_TRUE(base::write_file((folder / "part.nc").string(),
                               "%\nG21 G90\nT13 M6\nS1900 M3\nG54 G0 X0 Y0\nG43 H13 Z60\nG1 Z30 F1000\nG1 X14 F300\n"
                               "G3 X14 Y0 I-14 J0\nG0 Z60\nM30\n%\n")
                  .ok());
  ProgramMakeArguments a = of("OP30");
  a.from = (folder / "part.nc").string();
  a.dialect = "o words";
  EXPECT_EQ(program_make_command(a), 0);
  EXPECT_NE(text("op30.ngc").find("lines 3 to 10"), std::string::npos);
}

}  // namespace
}  // namespace fettle::cli
