#!/bin/sh
# Remake requirements.lock (runtime) and requirements-dev.lock (runtime, PostgreSQL, tests).
#
# The locks name versions and hashes, never an index, so that a mirror's address cannot leak
# into the repository; hence no uv.lock and no header that repeats the command line.
# One file serves Linux, macOS and Windows (--universal writes environment markers).
#
# Usage: tools/lock.sh [--upgrade]
set -eu
cd "$(dirname "$0")/.."

if command -v uv >/dev/null 2>&1; then
    UV=uv
else
    scratch=$(mktemp -d)
    trap 'rm -rf "$scratch"' EXIT
    python3 -m venv "$scratch"
    "$scratch/bin/python" -m pip install --quiet uv
    UV="$scratch/bin/uv"
fi

compile() {
    "$UV" pip compile --quiet --universal --python-version 3.11 --generate-hashes \
        --no-header --no-annotate "$@"
}

compile pyproject.toml -o requirements.lock "$@"
# The runtime versions bind the test set too: what is tested is what is shipped.
compile pyproject.toml --extra pg --group dev -c requirements.lock -o requirements-dev.lock "$@"

if grep -n '://' requirements.lock requirements-dev.lock; then
    echo "A lock file names an address (above); it must not be committed." >&2
    exit 1
fi
