#include "app/serve/face.h"
