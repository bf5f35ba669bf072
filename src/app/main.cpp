// fettle: one plan file in, findings out.
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <csignal>
#include <iostream>
#include <string>
#include <vector>

#include "app/cli/commands.h"
#include "app/cli/program_draw.h"
#include "app/cli/program_make.h"
#include "app/cli/program_prove.h"
#include "app/cli/program_read.h"
#include "app/cli/program_time.h"
#include "app/cli/reckon.h"
#include "app/serve/propose_child.h"
#include "app/serve/serve.h"
#include "base/text.h"
#include "base/version.h"
#include "plan/schema.h"
#include "solid/door.h"

namespace {

extern "C" void stop_clean(int signal) {
  fettle::base::drop_temporary_file();
  ::_exit(128 + signal);
}

/// "usage: fettle program prove PLAN PROGRAM [options]"
std::string usage(const CLI::App& app) {
  std::string out;
  for (const CLI::App* a = &app; a != nullptr; a = a->get_parent())
    out.insert(0, a->get_parent() == nullptr ? "usage: fettle" : " " + a->get_name());
  if (!app.get_subcommands([](const CLI::App*) { return true; }).empty()) return out + " COMMAND ...";
  for (const CLI::Option* o : app.get_options([](const CLI::Option* x) { return x->get_positional(); })) {
    std::string name = o->get_name(true);
    for (char& c : name) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    if (o->get_items_expected_max() > 1) name += "...";
    out += o->get_required() ? " " + name : " [" + name + "]";
  }
  return out + " [options]";
}

/// What is wrong with the words of a command line, with the nearest right one and how the command is used.
int misused(const CLI::App& app, const CLI::ParseError& error, int argc, char** argv) {
  const CLI::App* at = &app;
  const auto all = [](const CLI::App* a) { return a->get_subcommands([](const CLI::App*) { return true; }); };
  const auto say = [&](const fettle::Problem& p) {
    std::cerr << fettle::say(p) << "\n" << usage(*at) << "\nfettle --help lists the commands, and each has --help.\n";
    return 2;
  };
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    std::vector<std::string> names;
    if (word.starts_with("--") && word.size() > 2) {
      const std::string name = word.substr(0, word.find('='));
      for (const CLI::Option* o : at->get_options())
        for (const std::string& l : o->get_lnames()) names.push_back("--" + l);
      if (std::find(names.begin(), names.end(), name) == names.end())
        return say(
            fettle::bad("no such option here", name, "an option of this command", fettle::base::nearest(name, names)));
      continue;
    }
    const auto commands = all(at);
    if (word.starts_with("-") || commands.empty()) continue;
    const CLI::App* next = nullptr;
    for (const CLI::App* c : commands) {
      if (c->get_name() == word) next = c;
      if (!c->get_group().empty()) names.push_back(c->get_name());
    }
    if (next == nullptr)
      return say(
          fettle::bad("no such command", word, fettle::base::join(names, ", "), fettle::base::nearest(word, names)));
    at = next;
  }
  if (!all(at).empty()) {
    std::vector<std::string> names;
    for (const CLI::App* c : all(at))
      if (!c->get_group().empty()) names.push_back(c->get_name());
    return say(fettle::bad("a command is missing", "", fettle::base::join(names, ", ")));
  }
  if (dynamic_cast<const CLI::RequiredError*>(&error) != nullptr)
    for (const CLI::Option* o : at->get_options())
      if (o->get_required() && o->count() == 0)
        return say(
            fettle::bad("something is missing", "", o->get_name(o->get_positional()) + ": " + o->get_description()));
  return say(fettle::bad(error.what()));
}

int run(int argc, char** argv) {
  using namespace fettle::cli;
  namespace serve = fettle::serve;
  CLI::App app{
      "Fettle takes one plan file that says how an iron casting becomes a part, computes it, and says how much margin "
      "each decision has."};
  app.set_version_flag("--version", std::string("fettle ") + fettle::base::version());
  app.require_subcommand(1);

  StudyArguments study;
  auto* s = app.add_subcommand("study", "turn a plan into findings");
  s->add_option("plan", study.plan, "plan file")->required();
  s->add_flag("--json", study.json, "findings as JSON on standard output");
  s->add_option("--into", study.into, "folder for findings.json, the PDF and the drawings");
  s->add_option("--seed", study.seed, "seed of the random streams, instead of the plan's")
      ->check(CLI::Range(0, 2000000000));
  s->add_option("--threads", study.threads, "threads, one a core unless said; the result does not depend on it")
      ->check(CLI::Range(1, 256));
  s->add_flag("--all", study.all, "list also what is inside");
  s->add_flag("--quick", study.quick, "leave out the virtual castings (their findings stay open)");

  std::string plan, other, finding, into, folder = ".";
  bool over = false, quick = false;
  auto* e = app.add_subcommand("explain", "open one finding: formula, numbers, source, assumptions, what flips it");
  e->add_option("plan", plan, "plan file")->required();
  e->add_option("finding", finding, "id of the finding, as `study` lists it, or a part of it")->required();

  auto* d = app.add_subcommand("diff", "what differs between two plans, and which findings moved");
  d->add_option("plan-a", plan, "plan file")->required();
  d->add_option("plan-b", other, "the plan file to compare with")->required();
  d->add_flag("--quick", quick, "leave out the virtual castings");

  auto* r = app.add_subcommand("rewrite", "write a plan in the present form (comments are not kept)");
  r->add_option("plan", plan, "plan file")->required();
  r->add_option("--into", into, "file to write; standard output when not given");
  r->add_flag("--over", over, "write over a file that exists");

  auto* u = app.add_subcommand("uses", "which plans stand on a shop or pallet file");
  u->add_option("file", plan, "shop or pallet file")->required();
  u->add_option("folder", folder, "where to look");

  LeversArguments lever;
  auto* l = app.add_subcommand("levers", "what would move a finding, and what else would move with it");
  l->add_option("plan", lever.plan, "plan file")->required();
  l->add_option("finding", lever.finding, "id of the finding or a part of it; all that need a hand when not given");
  l->add_flag("--json", lever.json, "the levers as JSON on standard output");
  l->add_option("--count", lever.count, "how many to list")->check(CLI::Range(1, 1000));
  l->add_option("--threads", lever.threads, "threads, one a core unless said; the result does not depend on it")
      ->check(CLI::Range(1, 256));

  std::vector<std::string> plans;
  auto* shop = app.add_subcommand("shop", "hours a week on each machine, summed over all plans of a shop");
  shop->add_option("plans", plans, "plan files, or folders with plans")->required();

  SampleArguments sample;
  auto* one = app.add_subcommand("sample", "one drawn part again, with its whole history");
  one->add_option("plan", sample.plan, "plan file")->required();
  one->add_option("--part", sample.part, "its number, from 0; a study names the worst ones")
      ->required()
      ->check(CLI::Range(0, 2000000000));
  one->add_option("--seed", sample.seed, "seed of the random streams, instead of the plan's")
      ->check(CLI::Range(0, 2000000000));
  one->add_flag("--json", sample.json, "as JSON on standard output");

  ListenArguments listen;
  auto* hear =
      app.add_subcommand("listen", "frequency and damping from the recording of a tap, or what squeals in a cut");
  hear->add_option("file", listen.file, "WAV file")->required();
  hear->add_option("--speed", listen.speed, "spindle speed while it squealed, such as \"2190 rpm\"");
  hear->add_option("--teeth", listen.teeth, "teeth of the tool")->check(CLI::Range(1, 200));
  hear->add_option("--tool", listen.tool, "the tool that squealed; speed and teeth from the plan unless given");
  hear->add_option("--plan", listen.plan, "plan file that names the tool");
  hear->add_flag("--json", listen.json, "as JSON on standard output");

  BeginArguments begin;
  auto* b = app.add_subcommand("begin", "a first plan from a STEP model");
  b->add_option("model", begin.model, "STEP file of the finished part")->required();
  b->add_option("--cast", begin.cast, "STEP file of the raw casting");
  b->add_option("--measured", begin.measured, "CSV table of measured castings");
  b->add_option("--into", begin.into, "plan file to write; standard output when not given");
  b->add_flag("--over", begin.over, "write over a plan that exists");
  b->add_option("--raw", begin.raw, "with --shop: STEP file to write, the raw casting as proposed");
  b->add_option("--up", begin.up, "direction of the model that points up: +x -x +y -y +z -z");
  b->add_option("--origin", begin.origin,
                "where the part's origin lies in the model, such as \"0, 0, 0 mm\", or: bottom middle");
  b->add_option("--unit", begin.unit, "unit of the STEP file when it names none, or of a table without units");
  b->add_option("--units", begin.units, "how results are printed: metric or inch");
  b->add_option("--shop", begin.shop, "shop file: whole plans are proposed and studied, up to three");
  b->add_option("--answers", begin.answers, "file with answers to what the model cannot say");
  b->add_option("--tools", begin.tools, "CSV list of tools: fills what the shop file lacks, adds new ones");
  b->add_option("--holders", begin.holders, "CSV list of holders: diameter and stick-out of tools");
  b->add_option("--times", begin.times, "CSV table of stopwatch times of operations and cuts");
  b->add_flag("--questions", begin.questions, "print the questions as a file to fill in, and stop");
  b->add_flag("--json", begin.json, "with --shop: what is proposed as JSON");
  b->add_option("--threads", begin.threads, "threads, one a core unless said; the result does not depend on it")
      ->check(CLI::Range(1, 256));
  b->add_option("--seed", begin.seed, "seed of the random streams")->check(CLI::Range(0, 2000000000));

  serve::ServeArguments web;
  auto* sv = app.add_subcommand("serve", "the page in a browser: plans of one folder, on this machine or in a network");
  sv->add_option("what", web.what, "a plan, or a folder with plans; else this folder");
  sv->add_option("--port", web.port, "port to listen on; 0: any that is free")->check(CLI::Range(0, 65535));
  sv->add_flag("--lan", web.lan, "other machines too, each with a code that is shown here");
  sv->add_option("--tls", web.certificate, "PEM file of a certificate: the connection is then encrypted");
  sv->add_option("--tls-key", web.key, "PEM file of its key, where it does not stand in the same file");
  sv->add_flag("--read-only", web.read_only, "nobody changes anything");
  sv->add_option("--page", web.page, "folder of a built page, instead of the one inside");

  auto* program = app.add_subcommand("program", "control programs");
  program->require_subcommand(1);
  ProgramMakeArguments make;
  auto* mk = program->add_subcommand("make", "control programs from a plan, tool by tool over all parts on the table");
  mk->add_option("plan", make.plan, "plan file")->required();
  mk->add_option("--operation", make.operation, "one operation; all with cuts on a machine when not given");
  mk->add_option("--dialect", make.dialect, "classic, \"o words\", or a table of one's own that ends in .toml");
  mk->add_option("--out", make.out, "folder for programs, offset sheets and restart tables; else standard output");
  mk->add_option("--from", make.from, "program for one part: its blocks are composed over all parts");
  mk->add_option("--together", make.together, "tools that follow one another on each part, such as T13,T14");
  mk->add_flag("--inch", make.inches, "inches in the program; else as the plan's results are printed");
  mk->add_flag("--fewest-changes", make.fewest_changes, "another order of tools where that saves a change");
  mk->add_flag("--json", make.json, "what was made, as JSON on standard output; without --out with the texts");

  ProgramTimeArguments timed;
  auto* tm = program->add_subcommand("time", "how long a program runs, by tool and nest, on a machine of the plan");
  tm->add_option("program", timed.program, "program file; else every program that the plan names");
  tm->add_option("--plan", timed.plan, "plan file: its machine, its cuts");
  tm->add_option("--operation", timed.operation, "the operation that it belongs to, where that is not plain");
  tm->add_flag("--test-program", timed.test_program, "print a program of groups to time with a stopwatch");
  tm->add_option("--fit", timed.fit, "CSV with the seconds of each group: the machine's limits from them");
  tm->add_option("--machine", timed.machine, "with --fit: the machine that was timed");
  tm->add_option("--scatter", timed.scatter, "with --fit: one standard deviation of the stopwatch, s");
  tm->add_flag("--json", timed.json, "times as JSON on standard output, SI");

  ProgramReadArguments read;
  auto* rd = program->add_subcommand("read", "what a program does, move by move; errors with line and column");
  rd->add_option("program", read.program, "program file")->required();
  rd->add_option("--with", read.with, "JSON file with zeros, lengths, parameters and touches of the probe, mm");
  rd->add_option("--set", read.sets, "a parameter before the first line, such as 503=5413; may be repeated");
  rd->add_flag("--inch", read.inches, "inches hold before the first G20 or G21");
  rd->add_flag("--skip", read.skip, "lines behind / are left out");
  rd->add_flag("--json", read.json, "every move with its end in machine coordinates, mm");

  ProgramProveArguments proven;
  auto* pv = program->add_subcommand("prove", "every move of a program against the plan: findings with lines");
  pv->add_option("plan", proven.plan, "plan file")->required();
  pv->add_option("program", proven.program, "program file")->required();
  pv->add_option("--operation", proven.operation, "the operation it belongs to, where that is not plain");
  pv->add_option("--set", proven.sets, "a parameter before the first line, such as 503=1; may be repeated");
  pv->add_option("--castings", proven.castings, "virtual castings on the table from this number on, not nominal ones")
      ->check(CLI::Range(0, 1000000));
  pv->add_flag("--measured", proven.measured, "the plan's measured castings instead of virtual ones");
  pv->add_flag("--quick", proven.quick, "leave out forces, holding and chatter of the worst moves");
  pv->add_flag("--all", proven.all, "list also what is inside");
  pv->add_flag("--json", proven.json, "findings as JSON on standard output");

  ProgramDrawArguments drawn;
  auto* dr =
      program->add_subcommand("draw", "pictures of a program: ways of the tools, what they take, what coolant stays");
  dr->add_option("plan", drawn.plan, "plan file")->required();
  dr->add_option("--op,--operation", drawn.operation, "the operation; from the program where it says so");
  dr->add_option("--program", drawn.program, "program file; else the plan's, else one made from its cuts");
  dr->add_option("--out", drawn.out, "folder for the SVG files and one PDF")->required();
  dr->add_option("--set", drawn.sets, "a parameter before the first line, such as 503=1; may be repeated");
  dr->add_flag("--quick", drawn.quick, "leave out forces, holding and chatter of the worst moves");
  dr->add_flag("--inch", drawn.inches, "inches; else as the plan's results are printed");
  dr->add_flag("--metric", drawn.metric, "millimetres; else as the plan's results are printed");

  auto* schema = app.add_subcommand("schema", "the reference of the plan file (docs/plan.md)");
  auto* reckon = app.add_subcommand("reckon", "calculators for the bench; alone it lists them");
  reckon->prefix_command();
  auto* models = app.add_subcommand("demo-models", "write the demo's STEP models");
  models->group("");
  models->add_option("folder", folder)->required();

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);  // --help, --version
    return misused(app, error, argc, argv);
  }
  if (*s) return study_command(study);
  if (*e) return explain_command(plan, finding);
  if (*d) return diff_command(plan, other, quick);
  if (*r) return rewrite_command(plan, into, over);
  if (*u) return uses_command(plan, folder);
  if (*shop) return shop_command(plans);
  if (*l) return levers_command(lever);
  if (*one) return sample_command(sample);
  if (*hear) return listen_command(listen);
  if (*b) return begin_command(begin);
  if (*sv) return serve::serve_command(web);
  if (*mk) return program_make_command(make);
  if (*rd) return program_read_command(read);
  if (*pv) return program_prove_command(proven);
  if (*dr) return program_draw_command(drawn);
  if (*tm) return program_time_command(timed);
  if (*schema) {
    std::cout << fettle::plan::describe_schema();
    return 0;
  }
  if (*reckon) {
    std::vector<std::string> rest;  // everything after the word, untouched
    bool after = false;
    for (int i = 1; i < argc; ++i) {
      if (after) rest.emplace_back(argv[i]);
      if (!after && std::string(argv[i]) == "reckon") after = true;
    }
    return reckon_command(rest, std::cin, std::cout, std::cerr);
  }
  if (*models) return demo_models_command(folder);
  return 2;
}

}  // namespace

int main(int argc, char** argv) {
  if (const int child = fettle::solid::maybe_kernel_child(argc, argv); child >= 0) return child;
  if (const int child = fettle::serve::maybe_propose_child(argc, argv); child >= 0) return child;
  std::signal(SIGINT, stop_clean);
  std::signal(SIGTERM, stop_clean);
  std::signal(SIGPIPE, SIG_DFL);
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {
    std::cerr << "fettle: a fault of ours: " << error.what() << "\n";
    return 3;
  }
}
