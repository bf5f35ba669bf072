#include "app/cli/results.h"

#include <fmt/format.h>

#include <filesystem>
#include <set>

#include "app/cli/sheet.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "output/papers/study_sheet.h"

namespace fettle::cli {

namespace {
constexpr const char* list_name = "made-by-fettle.txt";
}

Outcome<std::vector<std::string>> write_results(const study::Study& study, const plan::Plan& plan,
                                                const study::Data& data, const std::string& folder) {
  namespace fs = std::filesystem;
  std::error_code error;
  fs::create_directories(folder, error);
  if (!fs::is_directory(folder)) return bad("cannot make the folder", folder, "a folder that can be written");
  // Everything is rendered before anything is written.
  const papers::StudySheet sheet = sheet_of(study, plan, &data);
  std::vector<std::pair<std::string, std::string>> files;
  files.emplace_back("findings.json", study_json(study, plan));
  files.emplace_back("findings.txt", study_text(study, plan, {false, 100, true}));
  const Outcome<drawings::Rendered> pdf = papers::study_pdf(sheet);
  if (!pdf.ok()) return pdf.problems();
  files.emplace_back("study.pdf", pdf->bytes);
  for (const papers::NamedDrawing& d : papers::study_drawings(sheet)) {
    const Outcome<drawings::Rendered> svg =
        drawings::to_svg(d.drawing, {study.plan_name + ", " + d.file, "Fettle " + study.version, sheet.date});
    if (!svg.ok()) return svg.problems();
    files.emplace_back(d.file, svg->bytes);
  }
  std::set<std::string> ours;
  const std::string list = (fs::path(folder) / list_name).string();
  if (fs::exists(list)) {
    const Outcome<std::string> text = base::read_file(list);
    if (text.ok())
      for (const std::string& line : base::split(*text, '\n'))
        if (!line.empty()) ours.insert(line);
  }
  for (const auto& [name, bytes] : files)
    if (fs::exists(fs::path(folder) / name) && ours.count(name) == 0)
      return bad("the folder holds a file of that name that an earlier study did not make",
                 (fs::path(folder) / name).string(), "another folder");
  std::vector<std::string> written;
  std::string names;
  for (const auto& [name, bytes] : files) {
    ours.erase(name);
    names += name + "\n";
  }
  const Outcome<bool> listed = base::write_file(list, names);
  if (!listed.ok()) return listed.problems();
  for (const auto& [name, bytes] : files) {
    const std::string path = (fs::path(folder) / name).string();
    const Outcome<bool> done = base::write_file(path, bytes);
    if (!done.ok()) return done.problems();
    written.push_back(path);
  }
  for (const std::string& old : ours)
    fs::remove(fs::path(folder) / old, error);  // drawings of an earlier study that this one does not have
  return written;
}

}  // namespace fettle::cli
