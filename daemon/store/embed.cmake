# Turn sql/*.sql into a C file: cmake -DSQL=folder -DOUT=file.c -P embed.cmake
#
# The migrations travel inside the program, so that program and schema cannot come apart.
file(GLOB files ${SQL}/*.sql)
list(SORT files)
set(arrays "")
set(table "")
foreach(file ${files})
	get_filename_component(name ${file} NAME)
	string(REGEX MATCH "^[0-9]+" number ${name})
	math(EXPR value "1${number} - 1000")
	file(READ ${file} hex HEX)
	string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
	string(REGEX REPLACE "((0x..,){16})" "\t\\1\n" bytes "${bytes}")
	string(APPEND arrays "static const unsigned char sql_${number}[] = {\n${bytes}0};\n\n")
	string(APPEND table "\t{${value}, \"${name}\", (const char *)sql_${number}, sizeof(sql_${number}) - 1},\n")
endforeach()
file(WRITE ${OUT} "/* Made by daemon/store/embed.cmake from sql/. */
#include \"migrations.h\"

${arrays}const struct migration migrations[] = {
${table}};
const size_t n_migrations = sizeof(migrations) / sizeof(migrations[0]);
")
