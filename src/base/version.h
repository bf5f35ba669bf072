#pragma once
// Who computed this: printed on every output.
namespace fettle::base {

const char* version();         ///< "0.1.0"
const char* tables_version();  ///< changes whenever a number of src/ref changes

}  // namespace fettle::base
