#!/usr/bin/env bash
# Builds crates/pages/assets/run/engine.js, core for the published page, and engine.stamp beside it.
#   tools/build-page-engine.sh
#   tools/build-page-engine.sh --stamp     only prints the stamp of the sources as they stand
# Needs cargo, and Debian 12 or newer with its security archive, or a relative of it. The compiler for the browser, with
# the sources of the standard library, comes as Debian packages; they are unpacked into a folder, nothing is installed.
# WASM_TOOLCHAIN names the folder, by default one inside the target folder (about 850 MB, kept for the next time).
# Afterwards run the browser tests (cargo test -p trueplate --test browser will_it_run) and commit both files.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

# What the stamp is taken of: the rules of answering, without comments and tests, and the versions of what they rest on.
# A test (crates/app/tests/tidy/engine.rs) takes it again and names what has changed since.
sources() {
  LC_ALL=C ls crates/page-engine/src/*.rs \
    crates/core/src/answer.rs crates/core/src/answer/*.rs \
    crates/core/src/law.rs crates/core/src/law/answer.rs crates/core/src/law/missing.rs crates/core/src/law/row.rs \
    crates/core/src/stats.rs crates/core/src/stats/*.rs crates/core/src/stats/coverage/*.rs \
    crates/core/src/sun.rs crates/core/src/sun/*.rs |
    # Gathers facts from a report before they are published; the page has no report.
    grep -v '/answer/seen\.rs$'
}
stamp() {
  local file sum
  for file in $(sources); do
    # Without white space and closing commas, so that a change of form alone is none.
    sum=$(sed -E '/^#\[cfg\(test\)\]/,$d; /^[[:space:]]*\/\//d' "$file" | LC_ALL=C tr -d '[:space:]' |
      LC_ALL=C sed -E 's/,([])}])/\1/g' | sha256sum | cut -d' ' -f1)
    echo "$sum  $file"
  done
  grep -E -A1 '^name = "(jiff|nalgebra|statrs|solar-positioning|serde|serde_json)"$' Cargo.lock |
    sed -nE 's/^name = "(.*)"/\1/; t keep; s/^version = "(.*)"/\1/; t join; d; :keep; h; d; :join; H; x; s/\n/  /; p'
}
if [ "${1-}" = --stamp ]; then stamp; exit; fi

before=$(stamp)
target=${CARGO_TARGET_DIR:-target}
tools=${WASM_TOOLCHAIN:-$target/.wasm-toolchain}
mkdir -p "$tools"
tools=$(cd "$tools" && pwd)
rustc=$tools/rustc

if [ ! -x "$rustc" ]; then
  # Names carry versions and move with the archive: they are asked for, not written down.
  std=$(apt-cache depends libstd-rust-web-dev | awk '/Depends: libstd-rust-web-/ {print $2; exit}')
  llvm=$(apt-cache depends "$std" | awk '/Depends: libllvm/ {print $2; exit}')
  [ -n "$std" ] && [ -n "$llvm" ] || { echo "rustc-web is not in the package lists: apt-get update" >&2; exit 1; }
  rm -rf "$tools/deb" "$tools/root"
  mkdir -p "$tools/deb"
  (cd "$tools/deb" && apt-get download rustc-web rust-web-src libstd-rust-web-dev "$std" "$llvm" >&2)
  for package in "$tools"/deb/*.deb; do dpkg -x "$package" "$tools/root"; done
  rm -rf "$tools/deb"
  printf '#!/bin/sh\nR=%s/root/usr\nLD_LIBRARY_PATH=$R/lib/x86_64-linux-gnu exec $R/bin/rustc "$@"\n' "$tools" >"$rustc.new"
  chmod +x "$rustc.new" && mv "$rustc.new" "$rustc"
fi

# The linker of the compiler that cargo uses otherwise; any lld will do.
linker=$(command rustc --print sysroot)/lib/rustlib/$(command rustc -vV | awk '/^host:/ {print $2}')/bin/rust-lld
[ -x "$linker" ] || linker=$(command -v wasm-ld || command -v lld || command -v rust-lld)

# Paths of this machine stay out of what is published, and so does the place the crates came from.
# A panic there only ends the engine, so it needs no words: half of the standard library's text stays out.
flags="--remap-path-prefix=$PWD=. --remap-path-prefix=$tools=toolchain -Zunstable-options -Cpanic=immediate-abort"
for folder in "${CARGO_HOME:-$HOME/.cargo}"/registry/src/*; do flags="$flags --remap-path-prefix=$folder=crates"; done
RUSTC=$rustc RUSTC_BOOTSTRAP=1 CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER=$linker RUSTFLAGS=$flags \
  cargo build --locked --profile page --target wasm32-unknown-unknown \
  -Zbuild-std=std,panic_abort -Zbuild-std-features=optimize_for_size -p trueplate-page-engine >&2

[ "$(stamp)" = "$before" ] || { echo "the sources changed meanwhile: build it again" >&2; exit 1; }
built=$target/wasm32-unknown-unknown/page/trueplate_page_engine.wasm
folder=crates/pages/assets/run
mkdir -p "$folder"
# Packed and written as text: a page opened from a folder may load a script, not a file of bytes.
printf 'window.benchEngine="%s";\n' "$(gzip -9nc "$built" | base64 -w0)" >"$folder/engine.js"
echo "$before" >"$folder/engine.stamp"
echo "engine: $(stat -c %s "$built") bytes, packed $(gzip -9nc "$built" | wc -c), as text $(stat -c %s "$folder/engine.js")"
