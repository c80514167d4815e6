"""Check characters of ISO/IEC 7064 MOD 37,36 by python-stdnum: {"codes": [...]} to the check character of each."""

import json
import sys

from stdnum.iso7064 import mod_37_36

print(json.dumps([mod_37_36.calc_check_digit(code) for code in json.load(sys.stdin)["codes"]]))
