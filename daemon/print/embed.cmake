# Turn sheet.css into a C string: cmake -DCSS=file -DOUT=file.c -P embed.cmake
file(READ ${CSS} css HEX)
string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${css}")
string(REGEX REPLACE "((0x..,){16})" "\t\\1\n" bytes "${bytes}")
file(WRITE ${OUT}.new "/* Made by daemon/print/embed.cmake from daemon/print/sheet.css. */
#include \"markup.h\"

const char sheet_css[] = {\n${bytes}0};
")
file(COPY_FILE ${OUT}.new ${OUT} ONLY_IF_DIFFERENT)
