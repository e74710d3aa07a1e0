# The store against a PostgreSQL of its own.
set(desk tests/store/desk.c tests/store/scene.c)
program_test(store.questions LIBS store SOURCES tests/store/prog_questions.c ${desk})
