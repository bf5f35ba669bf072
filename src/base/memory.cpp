#include "base/memory.h"

#include <malloc.h>

namespace fettle::base {

void keep_memory() {
#ifdef __GLIBC__
  constexpr int large = 32 << 20, all = 1 << 30;
  ::mallopt(M_MMAP_THRESHOLD, large);
  ::mallopt(M_TRIM_THRESHOLD, all);
#endif
}

}  // namespace fettle::base
