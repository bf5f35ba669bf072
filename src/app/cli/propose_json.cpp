#include <cmath>
#include <nlohmann/json.hpp>

#include "app/cli/propose.h"
#include "finding/finding.h"

namespace fettle::cli {

namespace {

using nlohmann::json;

json or_null(const std::string& s) { return s.empty() ? json(nullptr) : json(s); }

json clashes_json(const std::vector<begin::Clash>& clashes) {
  json out = json::array();
  for (const begin::Clash& c : clashes) out.push_back({{"wishes", c.wishes}, {"words", c.words}});
  return out;
}

json choices_json(const std::vector<begin::Choice>& choices) {
  json out = json::array();
  for (const begin::Choice& c : choices) {
    json others = json::array();
    for (const begin::Alternative& o : c.others)
      others.push_back(
          {{"words", o.words}, {"why_not", o.why_not}, {"take", or_null(o.take)}, {"no_answer", or_null(o.no_answer)}});
    out.push_back({{"stage", c.stage},
                   {"about", c.about},
                   {"taken", c.taken},
                   {"why", c.why},
                   {"asked_by", c.asked_by},
                   {"others", std::move(others)}});
  }
  return out;
}

/// What is not inside, in the study's own order of need.
json findings_json(const study::Study& study) {
  json out = json::array();
  for (const finding::Finding& f : study.findings)
    if (f.state != finding::State::inside)
      out.push_back({{"id", f.id}, {"state", std::string(finding::word(f.state))}});
  return out;
}

json proposal_json(const begin::Proposal& p, const std::string& file) {
  const study::Counts& c = p.study.counts;
  return {{"rank", p.rank},
          {"name", p.draft.name},
          {"why_here", p.why_here},
          {"file", or_null(file)},
          {"cost", p.cost && std::isfinite(*p.cost) ? json(*p.cost) : json(nullptr)},
          {"currency", or_null(p.currency)},
          {"no_cost", or_null(p.no_cost)},
          {"counts",
           {{"outside", c.outside}, {"tight", c.tight}, {"beyond", c.beyond}, {"open", c.open}, {"inside", c.inside}}},
          {"verdict", p.study.verdict},
          {"findings", findings_json(p.study)},
          {"choices", choices_json(p.draft.choices)},
          {"assumed", p.draft.assumed},
          {"disagree", p.draft.disagree},
          {"clashes", clashes_json(p.still)},
          {"text", p.text}};
}

}  // namespace

std::string proposals_json(const begin::Proposals& found, const std::vector<std::string>& files) {
  json questions = json::array(), proposals = json::array();
  for (const begin::Question& q : found.not_asked)
    questions.push_back({{"id", q.id},
                         {"words", q.words},
                         {"why", q.why},
                         {"example", q.example},
                         {"taken", or_null(q.start)},
                         {"choices", q.choices}});
  for (std::size_t i = 0; i < found.best.size(); ++i)
    proposals.push_back(proposal_json(found.best[i], i < files.size() ? files[i] : ""));
  const json all = {{"not_asked", std::move(questions)},
                    {"looked_at", found.looked_at},
                    {"clashes", clashes_json(found.clashes)},
                    {"proposals", std::move(proposals)}};
  return all.dump(1, ' ', false, json::error_handler_t::replace);
}

}  // namespace fettle::cli
