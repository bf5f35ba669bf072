#pragma once
// How memory that was given back is kept for the next question.

namespace fettle::base {

/// What a study gives back stays with the process for the next one: fresh pages of memory cost more than many a sum.
/// For programs that ask often; no result depends on it.
void keep_memory();

}  // namespace fettle::base
