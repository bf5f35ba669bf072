#include "output/papers/paper.h"
