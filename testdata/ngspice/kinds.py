"""Has ngspice solve small circuits round kinds of parts that decide for themselves.

    python3 kinds.py > kinds.json

Each case stands twice: as a board file, and as a deck with SPICE's own models of
diode, bipolar transistor and MOSFET, whose curves are smooth where walkback's laws
are straight. So the levels agree within some tenths of a volt and no better; WITHIN
says how far, in V. Nothing of walkback runs.
"""
import json
import re
import subprocess
import tempfile

ZENER = ".model dz d(is=1e-14 n=1 rs=15 bv=5.025 ibv=5m)"  # 5.1 V and 15 + 0.026/5m = 20 ohm at 5 mA
NPN = ".model q npn(is=1e-14 bf=50)"
NMOS = ".model m nmos(level=1 vto=1 kp=0.25)\n.model db d(is=1e-9)"


def zener(volts, ohms):
    board = f"net VIN {volts}V\nsupply PS1 -> VIN\nresistor R1 VIN -> OUT {ohms}\nzener D1 OUT -> GND 5.1V test=5mA r=20\n"
    return board, f"V1 vin 0 {volts}\nR1 vin out {ohms}\nD1 0 out dz\n{ZENER}", ["OUT"], 0.1


def npn(on, load):
    board = (f"net VIN 5V\nnet ON {on}V\nsupply PS1 -> VIN\nsupply PS2 -> ON\nresistor R1 VIN -> OUT {load}\n"
             "npn Q1 OUT -> GND base=ON r1=10k r2=10k gain=50\n")
    return board, f"V1 vin 0 5\nV2 on 0 {on}\nR1 vin out {load}\nQ1 out b 0 q\nRa on b 10k\nRb b 0 10k\n{NPN}", ["OUT"], 0.25


def shifter(va, vb, pulled):
    board = f"net VA {va}V\nnet VB {vb}V\nsupply PS1 -> VA\nsupply PS2 -> VB\nshifter Q1 va=VA vb=VB a=LOW b=HIGH vth=1V\n"
    deck = f"V1 va 0 {va}\nV2 vb 0 {vb}\nRa va low 10k\nRb vb high 10k\nM1 high va low low m w=1u l=1u\nD1 low high db\n{NMOS}"
    if pulled:
        board += f"resistor R1 {pulled} -> GND 20\n"
        deck += f"\nRp {pulled.lower()} 0 20"
    return board, deck, ["LOW", "HIGH"], 0.1


CASES = ([zener(v, r) for v, r in [(12, 1380), (12, 680), (9, 1000), (19, 2200), (4, 1000), (7, 470)]]
         + [npn(on, load) for on, load in [(0, 10000), (0.8, 10000), (2.5, 10000), (3.3, 10000), (3.3, 1000), (3.3, 100), (5, 200)]]
         + [shifter(va, vb, p) for va, vb in [(1.8, 3.3), (2.5, 5), (1.8, 5), (3.3, 5)] for p in ["", "LOW", "HIGH"]])


def solve(deck, nets):
    text = "* case\n" + deck + "\n.options reltol=1e-6\n.op\n.control\nop\nset numdgt=9\n"
    text += "".join(f"print v({n.lower()})\n" for n in nets) + ".endc\n.end\n"
    with tempfile.NamedTemporaryFile("w", suffix=".cir") as f:
        f.write(text)
        f.flush()
        out = subprocess.run(["ngspice", "-b", f.name], capture_output=True, text=True, timeout=20).stdout
    found = dict(re.findall(r"v\((\w+)\) = (\S+)", out))
    return {n: float(f"{float(found[n.lower()]):.6g}") for n in nets}


def main():
    version = re.search(r"ngspice-\d+", subprocess.run(["ngspice", "--version"], capture_output=True, text=True).stdout).group()
    print(json.dumps({"ngspice": version, "command": "ngspice -b DECK", "options": "reltol=1e-6", "converged": {"plain": len(CASES)}}))
    for board, deck, nets, within in CASES:
        print(json.dumps({"board": "board kinds\nnet GND ground\n" + board, "within": within, "volts": solve(deck, nets)}))


main()
