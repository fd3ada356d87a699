# Writes OUT: the style and the script of the HTML proof as text of the program.
file(READ ${CMAKE_CURRENT_LIST_DIR}/proof.css style)
file(READ ${CMAKE_CURRENT_LIST_DIR}/proof.js script)
file(WRITE ${OUT} "#include \"proof/proof_html.h\"\n\nnamespace kirtle {\n\n\
std::string_view proof_style() { return R\"STYLE(${style})STYLE\"; }\n\
std::string_view proof_script() { return R\"SCRIPT(${script})SCRIPT\"; }\n\n}  // namespace kirtle\n")
