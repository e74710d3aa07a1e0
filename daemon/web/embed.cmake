# Turn static/* and a file from elsewhere into a C file: cmake -DFOLDER=folder -DMORE=file -DOUT=file.c -P embed.cmake
file(GLOB files ${FOLDER}/*.css ${FOLDER}/*.svg)
list(APPEND files ${MORE})
list(SORT files)
set(arrays "")
set(table "")
set(count 0)
foreach(file ${files})
	get_filename_component(name ${file} NAME)
	if(name MATCHES "\\.css$")
		set(type "text/css; charset=utf-8")
	else()
		set(type "image/svg+xml; charset=utf-8")
	endif()
	file(SHA256 ${file} hash)
	string(SUBSTRING ${hash} 0 12 version)
	file(READ ${file} hex HEX)
	string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
	string(REGEX REPLACE "((0x..,){16})" "\t\\1\n" bytes "${bytes}")
	string(APPEND arrays "static const unsigned char file_${count}[] = {\n${bytes}};\n\n")
	string(APPEND table "\t{\"${name}\", \"${type}\", \"${version}\", file_${count}, sizeof(file_${count})},\n")
	math(EXPR count "${count} + 1")
endforeach()
file(WRITE ${OUT}.new "/* Made by daemon/web/embed.cmake from daemon/web/static/. */
#include \"assets.h\"

${arrays}const struct asset assets[] = {
${table}};
const size_t n_assets = sizeof(assets) / sizeof(assets[0]);
")
file(COPY_FILE ${OUT}.new ${OUT} ONLY_IF_DIFFERENT)
