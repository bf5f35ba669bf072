#pragma once
// A table of measured castings, as deviations of the casting model's errors.
#include <map>
#include <string>
#include <vector>

#include "calc/casting/best_pose.h"
#include "study/casting_model.h"

namespace fettle::study {

struct SampleRow {
  std::string number;
  std::vector<double> deviation;  ///< m, one per Sample::keys
};
struct Sample {
  std::vector<std::string> keys;  ///< keys of CastingModel::mode that the table measures
  std::vector<double> nominal;    ///< m, what the table would show at nominal
  std::vector<SampleRow> rows;
  std::vector<std::string> unused;  ///< columns that mean nothing to the plan
};
/// Reads the table the plan names. Empty when it names none or the file is not there. Problems: those of the table,
/// each with file, line and column; columns that the plan binds and the table lacks.
Outcome<Sample> read_sample(const plan::Plan& plan, const Data& data, const CastingModel& m);

/// Parameters of the model for one measured casting: measured errors as measured, all others at their mean.
std::vector<double> row_parameters(const CastingModel& m, const Sample& sample, const SampleRow& row,
                                   std::size_t count);

/// Stock at every sample point of one measured casting. A bow is measured without its direction: the worse of the two
/// is taken.
std::vector<double> worse_bow(const CastingModel& m, const casting::Model& model, const Sample& sample,
                              const SampleRow& row);

/// True when the sample is large enough to replace what the plan assumes of this error.
bool learned(const Sample& sample, const std::string& key);
/// True when it replaces the spread of a size: then shrinkage is in it.
bool learned_a_size(const Sample& sample);

/// From five castings on, mean and covariance of the measured errors replace what the grade says.
void learn(CastingModel& m, const Sample& sample);

/// Castings whose skin was measured: the scan and the readings face by face that the plan names, if any.
void skin_findings(Context& c, const CastingModel& m, const casting::Model& model);

/// Where on a surface, in words: a round one also says towards which side ("counterbore at +X").
std::string spot_words(const Context& c, const casting::FaceStock& face);
/// What is left there, or missing, as said in the shop; `asked`: depth under the skin.
std::string left_words(const Context& c, double stock, double asked, const std::string& where);
/// The proof that no shift is enough, with surfaces as the shop calls them.
std::string clash_words(const Context& c, const casting::BestShift& best);

/// The worst measured casting (or the nominal one) for the drawing.
void fill_picture(Context& c, const CastingModel& m, const casting::Model& model, const Sample& sample);

}  // namespace fettle::study
