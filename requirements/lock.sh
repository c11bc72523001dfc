#!/bin/sh
# Writes the lock files from pyproject.toml: every release with its digests, no place to fetch it from.
# One lock serves Linux, macOS and Windows on Python 3.11 to 3.13; where releases differ they carry a marker.
set -eu
cd "$(dirname "$0")/.."
lock() {
    out="requirements/$1.lock"
    shift
    uv pip compile --quiet --universal --generate-hashes --python-version 3.11 --no-header --no-annotate \
        --no-emit-index-url --no-emit-find-links --only-binary :all: "$@" --output-file "$out"
    # Settings of the machine that wrote the lock are no part of it.
    grep -v -e '^--' -e '^# ' "$out" > "$out.new" || true
    mv "$out.new" "$out"
}
lock runtime pyproject.toml
lock build --group build
lock test --constraint requirements/runtime.lock --group test
lock bench --constraint requirements/runtime.lock --constraint requirements/test.lock --group bench
lock check --constraint requirements/runtime.lock --constraint requirements/test.lock --group check
