style_test(docs.parts docs/parts.sh)
