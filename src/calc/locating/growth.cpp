#include "calc/locating/growth.h"

namespace fettle::locating {

double span_growth(double span, double plate_expansion, double plate_temperature, double part_expansion,
                   double part_temperature) {
  return span * (plate_expansion * (plate_temperature - reference_temperature) -
                 part_expansion * (part_temperature - reference_temperature));
}
double length_at_20(double length, double expansion, double temperature) {
  return length / (1 + expansion * (temperature - reference_temperature));
}
double bow(double expansion, double difference, double length, double thickness) {
  return expansion * difference * length * length / (8 * thickness);
}

}  // namespace fettle::locating
