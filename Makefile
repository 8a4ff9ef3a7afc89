# `make site` and `make test` are all a fresh machine needs; `make help` lists the rest.
.DEFAULT_GOAL := help
export NO_MKDOCS_2_WARNING := 1
BIN := .venv/bin

.PHONY: help site zip fork serve check test bench vectors words soak lint clean env-site env-test pictures

help: ## list these targets
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 10

env-site:
	@.ci/environment site

env-test:
	@.ci/environment test

site: env-site ## check every recipe and build the demo club's site into site/
	@$(BIN)/asfound check
	@$(BIN)/asfound site

zip: env-site ## build the site and write it to site.zip; the same commit gives the same bytes
	@$(BIN)/asfound site --zip site.zip

serve: env-site ## show the site, checked and made anew after every change
	@$(BIN)/asfound serve

check: env-site ## check every recipe
	@$(BIN)/asfound check

test: env-test ## run every test, the browser's included
	@# One process more than there are cores, since a browser or a build keeps one waiting.
	@$(BIN)/python -m pytest -n $$(($$(nproc) + 1)) --dist worksteal

fork: env-site ## build with the maintained fork of mkdocs too, and compare; needs the network
	@.ci/fork

lint: env-test ## ruff, its format too, and mypy
	@$(BIN)/ruff check plugins tests
	@$(BIN)/ruff format --check plugins tests
	@$(BIN)/mypy -p asfound

SIZES := 100 1000

bench: env-test ## time checks, builds, preview and plans against stock mkdocs-material; SIZES="100 1000 10000"
	@$(BIN)/python tests/benchmarks/bench.py --sizes $(SIZES)
	@$(BIN)/python tests/benchmarks/bench_plan.py

vectors: env-test ## write the vectors anew that Python and the browser must agree on
	@$(BIN)/python tests/vectors/make.py

words: env-test ## bring the catalogues of languages up to date with what the pages say
	@$(BIN)/python tests/languages/words.py

soak: env-test ## mutate every field of every demo file, and 200 random edits for check and preview; slow
	@ASFOUND_SOAK=1 $(BIN)/python -m pytest tests/mutation tests/hostile/test_fuzz.py tests/unit/test_review_since.py tests/unit/test_serve.py

clean: ## remove what the other targets made
	rm -rf .venv site site.zip .site.lock .site.new-* .pytest_cache .hypothesis

pictures: env-test site ## take the documentation's pictures anew
	@$(BIN)/python tests/browser/pictures.py site site_src/tour
