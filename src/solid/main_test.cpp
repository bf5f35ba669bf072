// The tests of this floor start children of themselves, so they need a main of their own.
#include <gtest/gtest.h>

#include "solid/door.h"

int main(int argc, char** argv) {
  if (const int code = fettle::solid::maybe_kernel_child(argc, argv); code >= 0) return code;
  ::testing::InitGoogleTest(&argc, argv);
  return RUN_ALL_TESTS();
}
