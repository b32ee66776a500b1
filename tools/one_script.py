#!/usr/bin/env python3
"""Makes one script of modules, so that a browser asks for it once: one_script.py OUT FILE...

Each file, named after those it imports from, becomes a function that gives what it exports; `import { a } from './b.js'` takes
it from there. That is all of modules that our scripts use, and anything else is refused."""
import re
import sys
from pathlib import Path

IMPORT = re.compile(r"^import (\{[^}]*\}) from '\./(\w+)\.js'$", re.MULTILINE)
EXPORT = re.compile(r'^export (?=(?:async )?(?:function|class|const) (\w+))', re.MULTILINE)


def as_function(path, before):
    text = path.read_text(encoding='utf-8')
    missing = [name for _, name in IMPORT.findall(text) if name not in before]
    names = ', '.join(EXPORT.findall(text))
    body = EXPORT.sub('', IMPORT.sub(r'const \1 = \2Module', text))
    if missing or re.search(r'^(import|export)\b', body, re.MULTILINE):
        sys.exit(f'{path}: an import or export that is not understood, or a file named too late: {missing}')
    return f'const {path.stem}Module = (() => {{\n{body}return {{ {names} }}\n}})()\n'


files = [Path(name) for name in sys.argv[2:]]
written = [as_function(path, {file.stem for file in files[:i]}) for i, path in enumerate(files)]
Path(sys.argv[1]).write_text(''.join(written), encoding='utf-8')
