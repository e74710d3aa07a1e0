# The store against a PostgreSQL of its own.
set(desk tests/store/desk.c tests/store/scene.c)
program_test(store.questions LIBS store SOURCES tests/store/prog_questions.c ${desk})
program_test(store.money LIBS store SOURCES tests/store/prog_money.c ${desk})
program_test(store.planning LIBS store SOURCES tests/store/prog_planning.c ${desk})
program_test(store.faults LIBS store SOURCES tests/store/prog_faults.c tests/store/proxy.c ${desk})
program_test(store.schema LIBS store SOURCES tests/store/prog_schema.c ${desk})
