# The geometry kernel: only the toolkits named here (find_package lists everything, with viewers and their X11).
add_library(fettle_kernel INTERFACE)
target_include_directories(fettle_kernel SYSTEM INTERFACE ${OpenCASCADE_INCLUDE_DIR})
target_link_libraries(fettle_kernel INTERFACE
  TKSTEP TKSTEPBase TKSTEPAttr TKSTEP209 TKXSBase TKOffset TKFillet TKBool TKBO TKShHealing TKMesh TKPrim TKTopAlgo TKGeomAlgo
  TKBRep TKGeomBase TKG3d TKG2d TKMath TKernel)
