# What the scripts need and how to get it: sourced by ./job and ./check, installs only what is missing.
# Packages come from Debian, PyPI and crates.io through their ordinary clients.
# shellcheck shell=bash

# Installs Debian packages that are not there yet.
debian() {
    local missing=()
    for package in "$@"; do
        dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
    done
    [ ${#missing[@]} -eq 0 ] && return 0
    if ! command -v apt-get >/dev/null || [ "$(id -u)" -ne 0 ]; then
        echo "please install first: ${missing[*]} (on Debian, as root: apt-get install ${missing[*]})" >&2
        return 1
    fi
    echo "installing: ${missing[*]}"
    export DEBIAN_FRONTEND=noninteractive
    apt-get install -qq -y --no-install-recommends "${missing[@]}" >/dev/null 2>&1 ||
        { apt-get update -qq && apt-get install -qq -y --no-install-recommends "${missing[@]}" >/dev/null; }
}

# A C compiler: cargo links with it.
need_cc() {
    command -v cc >/dev/null || debian build-essential
}

# rustup reads rust-toolchain.toml and installs the pinned toolchain; the WebAssembly target is a step of its own
# because automatic installation of targets can be switched off.
need_cargo() {
    if ! command -v cargo >/dev/null; then
        # shellcheck disable=SC1091
        [ -f "$HOME/.cargo/env" ] && . "$HOME/.cargo/env"
    fi
    if ! command -v cargo >/dev/null; then
        echo "cargo is missing: install Rust with rustup (https://rustup.rs), then run this again" >&2
        return 1
    fi
}

# A virtual environment under target/ with the packages of the named requirements files; sets $python.
need_python() {
    local venv="target/venv" wanted stamp
    command -v python3 >/dev/null && python3 -c 'import venv, ensurepip' 2>/dev/null || debian python3 python3-venv
    wanted="$(sort -u "$@")"
    stamp="$venv/.wanted"
    python="$PWD/$venv/bin/python"
    if [ ! -x "$python" ] || [ "$(cat "$stamp" 2>/dev/null)" != "$wanted" ]; then
        [ -x "$python" ] || python3 -m venv "$venv"
        local files=()
        for f in "$@"; do files+=(-r "$f"); done
        "$python" -m pip install --quiet --disable-pip-version-check "${files[@]}"
        printf '%s' "$wanted" >"$stamp"
    fi
}

# cargo-fuzz, in a folder of its own under target/.
need_cargo_fuzz() {
    local version="0.13.1" root="$PWD/target/tools"
    PATH="$root/bin:$PATH"
    if ! command -v cargo-fuzz >/dev/null; then
        echo "installing: cargo-fuzz $version"
        cargo install --quiet --locked --version "$version" --root "$root" cargo-fuzz
    fi
    debian g++
}

# A browser and its driver.
need_browser() {
    debian chromium chromium-driver
}

# The accessibility rules of axe-core from npm, in target/axe: this version and no other content.
need_axe() {
    local version="4.14.1" folder="$PWD/target/axe"
    local sum="1477dafa598d8d065f273d6af302aa203c02e83131707b7fa648cd41bd3d6b734f8c22a0dab86ee6a6f64b8afbe804b214d36db85a2826965edfb3a0b9d546b5"
    axe="$folder/package/axe.min.js"
    [ "$(cat "$folder/.version" 2>/dev/null)" != "$version" ] || return 0
    command -v npm >/dev/null || debian npm
    mkdir -p "$folder"
    (
        cd "$folder"
        npm pack --silent "axe-core@$version" >/dev/null
        echo "$sum  axe-core-$version.tgz" | sha512sum --check --quiet
        tar -xzf "axe-core-$version.tgz" package/axe.min.js
        echo "$version" >.version
    )
}
