#pragma once
class TopoDS_Shape;
