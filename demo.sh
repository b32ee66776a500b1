#!/bin/sh
# From nothing to a report: installs what building needs (says what), builds, looks at the demo teardown, does its sums, writes
# its report and says where it is.
set -eu
cd "$(dirname "$0")"
tools/install.sh build
mkdir -p build
{ tools/configure.sh build -Db_lto=true && ninja -C build src/unpick; } >build/build.log 2>&1 || {
    cat build/build.log >&2
    exit 1
}
# 1 says that the teardown has contradictions, or a reading that differs: the demo has some, to show them
build/src/unpick look demo/dispenser || [ $? -eq 1 ]
build/src/unpick sums demo/dispenser || [ $? -eq 1 ]
build/src/unpick report demo/dispenser
echo "The report: $PWD/demo/dispenser/report.html"
