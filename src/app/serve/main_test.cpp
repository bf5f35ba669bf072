// The kernel runs in children of this program, so it needs a main of its own.
#include <gtest/gtest.h>

#include "solid/door.h"

int main(int argc, char** argv) {
  if (const int code = fettle::solid::maybe_kernel_child(argc, argv); code >= 0) return code;
  ::testing::InitGoogleTest(&argc, argv);
  return RUN_ALL_TESTS();
}
