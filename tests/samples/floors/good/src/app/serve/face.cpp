#include "app/cli/words.h"
