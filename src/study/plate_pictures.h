#pragma once
// The loaded pallet as pictures: how far it gives everywhere, and how its first modes move.
#include "study/internal.h"
#include "study/plate_model.h"

namespace fettle::study {

/// Fills the study's picture of compliance (but its remarks on the nests) and its modes, for the plate as stated and at
/// the soft and the stiff end of what is assumed. Only when plate_missing() is empty; leaves both empty when the plate
/// cannot be computed.
void plate_pictures(Context& c, const PlateKnobs& stated, const PlateKnobs& low, const PlateKnobs& high);

/// "at the +X -Y corner, near nest 3": where a place on the plate lies.
std::string place_words(const Context& c, double x, double y);

/// What moves in a mode, by the shares of its motion: "rocks about X and slides along Y".
std::string mode_words(const ModePicture& mode, double length, double width,
                       const std::vector<structure::Anchor>& anchors);

}  // namespace fettle::study
