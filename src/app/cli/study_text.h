#pragma once
// Findings in a terminal: what needs a hand first, in words and marks; colour only when asked for.
#include <string>

#include "plan/plan.h"
#include "study/study.h"
#include "unit/quantity.h"

namespace fettle::cli {

struct Look {
  bool colour = false;
  int width = 100;
  bool all = false;  ///< list the findings that are inside as well
};

/// The whole study as a page of text.
std::string study_text(const study::Study& study, const plan::Plan& plan, const Look& look);

/// One finding opened: formula, numbers, source, assumptions, what flips it.
std::string explain_text(const finding::Finding& finding, const unit::Style& style, const Look& look);

/// The study as JSON, schema version 1 (docs/findings.md).
std::string study_json(const study::Study& study, const plan::Plan& plan);

/// Its findings alone, as they stand in that, in one line.
std::string findings_json(const study::Study& study, const plan::Plan& plan, int threads = 1);

/// What differs between two plans in the trade's words, which findings moved, and what the change voids.
std::string diff_text(const plan::Plan& a, const study::Study& study_a, const plan::Plan& b,
                      const study::Study& study_b, const Look& look);

unit::Style style_of(const plan::Plan& plan);

/// Wraps a text at `width` columns with a hanging indent; words longer than a line are kept whole.
std::string wrap(const std::string& text, int width, int indent);

}  // namespace fettle::cli
