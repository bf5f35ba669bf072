#pragma once
// The casting of a first plan: from a model of the raw casting, or from a table of measured ones.
#include "begin/begin.h"
#include "begin/features.h"

namespace fettle::begin {

/// Raw sizes, cores, draft, parting line and mass from a model of the casting that lies over the part's.
void casting_from_model(plan::Plan& plan, const Features& features, const solid::Model& part, const solid::Model& cast,
                        bool inch, Begun& out);

/// Binds the columns of a table of measured castings to the part. Raw sizes that nobody gave are the means of the
/// sample, and said to be. Problems: a table that cannot be read, numbers without a unit (with the guess), no column
/// that fits the part.
Problems casting_from_table(plan::Plan& plan, const Features& features, const solid::Model& part,
                            const std::string& table, const Options& options, Begun& out);

/// The id of the floor below a counterbore: "H1floor" for "H1a".
std::string floor_of(const std::string& bore);

/// One operation that looks at the casting as it would first be held: three rests under it, the middle between its
/// sides; nothing is final yet, so the program may place the part anywhere in it.
void first_look(plan::Plan& plan, const solid::Model& part, bool inch, Begun& out);

}  // namespace fettle::begin
