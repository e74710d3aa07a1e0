# The schema's rights and rules, as the database tells them.
test_tool(migrate LIBS store SOURCES tests/sql/migrate.c)
script_test(sql.catalogue sql/catalogue.sh)
script_test(sql.carried sql/carried.sh)
