#include "app/cli/voids.h"

#include <fmt/format.h>

#include "base/text.h"

namespace fettle::cli {

namespace {

std::string words(const std::vector<practice::Changed>& changes) {
  std::vector<std::string> out;
  for (practice::Changed c : changes) out.emplace_back(practice::word(c));
  return base::join(out, ", ");
}

}  // namespace

std::string voids_text(const std::vector<practice::Changed>& changes, const std::vector<study::OldFile>& old_files,
                       const std::string& name, const Look& look) {
  std::string out = "What this voids\n";
  if (changes.empty()) return out + "  nothing\n";
  const practice::Voided all = practice::voided(changes);
  std::vector<std::string> studies, stays;
  for (const practice::Void& v : all.voided)
    if (!v.approval) studies.emplace_back(v.what);
  for (const std::string_view s : all.stays) stays.emplace_back(s);
  out += wrap("changed: " + words(changes), look.width, 2);
  if (!studies.empty()) out += wrap("old studies no longer hold: " + base::join(studies, ", "), look.width, 2);
  for (const practice::Void& v : all.voided)
    if (v.approval) out += wrap(fmt::format("{}: {} ({})", v.what, v.again, words(v.because)), look.width, 2);
  for (const study::OldFile& f : old_files)
    out += wrap(fmt::format("{} still reads {} ({}), measured before the change; void: {} ({})", name, f.file, f.thing,
                            f.what, words(f.because)),
                look.width, 2);
  if (!stays.empty()) out += wrap("stays: " + base::join(stays, ", "), look.width, 2);
  return out;
}

}  // namespace fettle::cli
