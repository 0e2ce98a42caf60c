#!/bin/sh
# Makes .venv with the locked dependencies and this project in it. Does nothing if it is up to date.
set -eu
cd "$(dirname "$0")/.."

say() { printf 'setup: %s\n' "$*" >&2; }

python=""
for name in python3 python3.13 python3.12 python3.11; do
    if command -v "$name" >/dev/null 2>&1 &&
        "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
        python=$name
        break
    fi
done
if [ -z "$python" ]; then
    say "Python 3.11 or newer is needed and was not found. Ask for: apt-get install python3"
    exit 1
fi

wanted=$(cat requirements.lock pyproject.toml tools/setup.sh | cksum)
if [ -x .venv/bin/python ] && [ "$(cat .venv/stamp 2>/dev/null || true)" = "$wanted" ]; then
    exit 0
fi

if ! "$python" -c 'import ensurepip, venv' >/dev/null 2>&1; then
    package="python3-venv"
    if [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null 2>&1; then
        say "Python's venv module is missing; bringing the system package $package"
        apt-get update -qq
        apt-get install -y -qq --no-install-recommends "$package" >/dev/null
    else
        say "Python's venv module is missing. Ask for: apt-get install $package"
        exit 1
    fi
fi

if ! "$python" -c 'import ssl, sys; sys.exit(not ssl.create_default_context().get_ca_certs())' >/dev/null 2>&1 &&
    [ -z "${PIP_CERT:-}" ]; then
    say "no certificates found; if the next step fails, ask for: apt-get install ca-certificates"
fi

say "making .venv and installing the locked dependencies (about a minute)"
rm -rf .venv
"$python" -m venv .venv
.venv/bin/python -m pip install --quiet --disable-pip-version-check \
    --require-hashes -r requirements.lock
.venv/bin/python -m pip install --quiet --disable-pip-version-check \
    --no-deps --no-build-isolation --editable .
printf '%s' "$wanted" >.venv/stamp
say "ready"
