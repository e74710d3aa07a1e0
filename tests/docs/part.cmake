style_test(docs.parts docs/parts.sh)
script_test(docs.readme docs/readme.sh)
script_test(docs.treasurer docs/treasurer.sh)
script_test(docs.privacy docs/privacy.sh)
