#pragma once
#include "maths/sum.h"
// TopoDS_Shape stays behind this door; a comment may say so.
