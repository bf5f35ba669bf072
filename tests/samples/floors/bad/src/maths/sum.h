#pragma once
#include <gp_Pnt.hxx>
#include "maths/nowhere.h"
