#!/bin/sh
# make_venv.sh FOLDER [PYTHON]: a virtual environment in FOLDER from the first Python 3.11 to 3.13 found.
set -eu
folder=$1
chosen=${2:-}
good='import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 13))'
python=
for candidate in ${chosen:-python3 python3.13 python3.12 python3.11}; do
    if "$candidate" -c "$good" >/dev/null 2>&1; then
        python=$candidate
        break
    fi
done
if [ -z "$python" ]; then
    echo "Batchwright needs Python 3.11, 3.12 or 3.13; found: ${chosen:-$(python3 --version 2>&1 || echo none)}." >&2
    echo "Install one of them and say: make setup PYTHON=python3.13" >&2
    exit 1
fi
if ! "$python" -c 'import venv, ensurepip' >/dev/null 2>&1; then
    version=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')
    echo "$python cannot make virtual environments. This one command adds it (Debian, Ubuntu):" >&2
    echo "    sudo apt-get install python$version-venv" >&2
    exit 1
fi
"$python" -m venv "$folder"
