#include "solid/shape.h"

#include <TopoDS_Shape.hxx>
