#pragma once
// Reads the clear-text exchange structure of ISO 10303-21 ("STEP file") into flat tables, hardened against bad input:
// no recursion, bounded nesting, lists and texts, every refusal with line and column. It knows the syntax only, not the
// meaning of any entity; pmi.h reads the drawing's sizes and tolerances out of it.
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::step {

/// What is refused as too much. The geometry kernel behind us is slow on long lists (time grows with the square) and
/// fails on long texts, so the bounds are those under which it is known to work; common practice files are far inside.
struct Limits {
  std::size_t bytes = std::size_t{256} << 20;  ///< whole file
  std::size_t instances = 4'000'000;           ///< numbered entities
  std::size_t nesting = 32;                    ///< lists within lists
  std::size_t list_length = 50'000;            ///< entries of one list, annotation meshes aside
  std::size_t mesh_list_length = 8'000'000;    ///< entries of one list of an annotation mesh (emptied in the slim copy)
  std::size_t text_bytes = 16'000;             ///< one text between quotes, as written
};

enum class Kind : std::uint8_t {
  missing,      ///< $
  derived,      ///< *
  integer,      ///< 12
  real,         ///< 1.5E-3
  text,         ///< 'bore'
  enumeration,  ///< .T.
  binary,       ///< "0F"
  reference,    ///< #12
  list,         ///< ( ... )
  typed         ///< LENGTH_MEASURE( ... )
};

/// One parameter. Names and texts stay in the file's text (at, size in bytes); children of lists lie in the value
/// table.
struct Value {
  Kind kind = Kind::missing;
  std::uint32_t at = 0;     ///< byte offset of its first character
  std::uint32_t size = 0;   ///< bytes of the name, number or text without its quotes; of the whole for lists
  std::uint32_t first = 0;  ///< lists, typed: first child in the value table
  std::uint32_t count = 0;  ///< lists, typed: number of children
  union {
    double number = 0;  ///< integer, real
    std::uint64_t id;   ///< reference: the number after #
  };
};

/// KEYWORD( parameters ). A simple instance has one; a complex instance has one for each of its types.
struct Record {
  std::uint32_t keyword = 0;  ///< index into the keyword table
  std::uint32_t first = 0;    ///< first parameter in the value table
  std::uint32_t count = 0;
};

struct Instance {
  std::uint64_t id = 0;
  std::uint32_t at = 0;  ///< byte offset of its #
  std::uint32_t first_record = 0;
  std::uint32_t records = 0;
  std::uint32_t first_value = 0;  ///< all its values, nested ones included, lie in [first_value, end_value)
  std::uint32_t end_value = 0;
};

/// A reference to a number that the file does not hold.
struct Dangling {
  std::uint64_t from = 0, to = 0;
};

/// A parsed file: a cheap value (copies share the tables). All views live as long as any copy of it.
class File {
 public:
  struct Tables;
  explicit File(std::shared_ptr<const Tables> tables);

  const std::string& name() const;
  std::string_view text() const;
  /// Schema names of FILE_SCHEMA as written, decoded; empty when the header has none.
  const std::vector<std::string>& schemas() const;
  /// Header records (FILE_DESCRIPTION, FILE_NAME, ...) in file order.
  std::span<const Record> header() const;

  /// Instances in file order, and the one with this number (nullptr when there is none).
  std::span<const Instance> instances() const;
  const Instance* find(std::uint64_t id) const;
  /// Indices (into instances()) of those that carry a record of this keyword, in file order.
  std::span<const std::uint32_t> all(std::string_view keyword) const;
  /// Indices of the instances that refer to this one, each once, in file order.
  std::span<const std::uint32_t> users(const Instance& instance) const;
  const std::vector<Dangling>& dangling() const;

  std::span<const Record> records(const Instance& instance) const;
  /// The record of this keyword, nullptr when the instance has none.
  const Record* record(const Instance& instance, std::string_view keyword) const;
  std::string_view keyword(const Record& record) const;
  std::span<const Value> parameters(const Record& record) const;
  /// Children of a list or of a typed parameter; empty for all else.
  std::span<const Value> items(const Value& value) const;
  /// Keyword of a typed parameter, name of an enumeration without its dots, or the characters as written.
  std::string_view raw(const Value& value) const;
  /// A text with its escapes ('' \\ \X\ \X2\ \X4\ \S\) as UTF-8; empty for all but texts. Broken escapes stay as typed.
  std::string string(const Value& value) const;
  /// Line and column (code points, from 1) of a byte offset.
  Where where(std::uint32_t at) const;

 private:
  friend std::string slim_copy(const File& file);
  std::shared_ptr<const Tables> t_;
};

/// Parses a whole file. `name` appears in problems. Refuses with one problem: not a STEP file, syntax, duplicate
/// numbers, not-a-number tokens, anything beyond `limits`, a file that ends too early, a file without entities.
/// References to absent numbers are collected in File::dangling(), not refused. Lists of annotation meshes
/// (COORDINATES_LIST, triangulated and tessellated sets) are checked but come out empty.
Outcome<File> parse(std::string text, std::string name = {}, const Limits& limits = {});

/// The text with the lists of annotation meshes emptied and a byte-order mark dropped: same solids, fit for the kernel.
std::string slim_copy(const File& file);

/// The text of a STEP string (between the quotes, as written) as UTF-8.
std::string decode(std::string_view written);

}  // namespace fettle::step
