# Writes OUT: shader_text(name) gives the text of each file of FILES.
set(text "#include \"gpu_print.h\"\n\nnamespace kirtle {\n\nconst char* shader_text(const std::string& name) {\n")
foreach(file ${FILES})
  get_filename_component(name ${file} NAME)
  file(READ ${file} body)
  string(APPEND text "  if (name == \"${name}\") return R\"GLSL(${body})GLSL\";\n")
endforeach()
string(APPEND text "  throw GlError(\"no shader is called \" + name);\n}\n\n}  // namespace kirtle\n")
file(WRITE ${OUT} "${text}")
