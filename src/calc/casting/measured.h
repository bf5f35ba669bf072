#pragma once
// One measured casting: from a row of a tape table, from readings face by face, or from a scan, to the stock it has as
// fixtured, with the best program shift, and in any pose at all.
#include <string>
#include <vector>

#include "calc/casting/best_pose.h"
#include "calc/casting/model.h"
#include "calc/casting/tape.h"

namespace fettle::casting {

/// What a column of the tape table says: parameter of the mode = factor (value - nominal).
struct TapeMeaning {
  std::string column;
  int mode = 0;        ///< index into Casting::modes
  double nominal = 0;  ///< m, the value of a casting without this error
  double factor = 1;
  bool either_way =
      false;  ///< the table does not tell the direction (warp by feeler): both are tried, the worse counts
};

struct MeasuredRow {
  std::string casting;
  std::vector<double> parameters;  ///< the casting's modes
  std::vector<int> either_way;     ///< modes whose sign is not known
};
struct MeasuredSample {
  std::vector<MeasuredRow> rows;
  std::vector<std::string> not_measured;  ///< modes the table says nothing about: taken as 0, to be told to the reader
};
/// Problems: a meaning names no column of the table or no mode.
Outcome<MeasuredSample> measured_sample(const TapeTable& table, const std::vector<TapeMeaning>& meanings,
                                        const Casting& casting);

/// The casting with the measured modes' mean and covariance (n - 1) instead of the grade's spread. An either-way mode
/// keeps mean 0 and gets the root mean square. Problem: fewer than 3 rows.
Outcome<Casting> learned(const Casting& casting, const MeasuredSample& sample,
                         const std::vector<TapeMeaning>& meanings);

/// Least and most stock at every sample point over the unknown directions.
struct StockBand {
  std::vector<double> low, high;
};
StockBand stock_band(const Model& model, const MeasuredRow& row);

/// A place that was measured: the raw surface stands `offset` outside its nominal there (m, + = more metal).
struct Reading {
  std::string surface;
  Vec3 p, n;
  double offset = 0;
};
struct Deviations {
  std::vector<double> touch;         ///< under Model::touches, m
  std::vector<double> point;         ///< at sample points, m
  std::vector<std::string> missing;  ///< surfaces or places without readings; then nothing may be called clean
  bool complete() const { return missing.empty(); }
};
/// Each surface is fitted by a rigid move and a growth (least squares, the smallest that fits) through its readings.
Deviations deviations_of(const Model& model, const std::vector<Reading>& readings);

/// Reads a table "casting, surface, offset" with x, y, z (place, part frame); one list of readings per casting, in
/// order. The normal is that of the nearest sample point of the surface. Problems as read_tape(), and a surface that is
/// not in the model.
struct CastingReadings {
  std::string casting;
  std::vector<Reading> readings;
};
Outcome<std::vector<CastingReadings>> read_face_table(std::string_view text, const std::string& file,
                                                      const std::string& unit, const Model& model);

struct CastingVerdict {
  std::string casting;
  std::vector<FaceStock> faces;  ///< as fixtured, without shift
  int tightest_face = 0;
  double reserve = 0;  ///< least (stock - must_leave) / weight without shift, m
  BestShift shift;     ///< with the program shift that the operations allow
  BestPose
      any_pose;  ///< all faces cut from raw surfaces as one rigid part in the free casting: the bound for any fixture
};
/// Box of any_pose: +-`shift` m and +-`turn` rad.
CastingVerdict judge_casting(const Model& model, const MeasuredRow& row, double shift = 0.01, double turn = 0.05);
/// For readings or a scan. Incomplete deviations give an unknown reserve (NaN) and refused poses.
CastingVerdict judge_casting(const Model& model, const std::string& casting, const Deviations& deviations,
                             double shift = 0.01, double turn = 0.05);

}  // namespace fettle::casting
