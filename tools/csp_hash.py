#!/usr/bin/env python3
"""Prints a C file that defines NAME as the source expression of a script for a Content-Security-Policy: csp_hash.py FILE NAME"""
import base64
import hashlib
import sys

digest = hashlib.sha256(open(sys.argv[1], 'rb').read()).digest()
print(f"extern const char {sys.argv[2]}[];")
print(f"const char {sys.argv[2]}[] = \"'sha256-{base64.b64encode(digest).decode()}'\";")
