"""Makes random networks as board files and has ngspice solve each.

    python3 gen.py > networks.json

Each network is described once, as a list of parts; from that list come, side by
side, the board file and the SPICE deck. The deck is made of SPICE's own elements
and of the laws that the format's reference and the comments of trace/predict
state, written anew here: nothing of walkback runs. Random values have five
digits, so that no level stands on a threshold.

A fuse is a resistor. Which one blows is not for a solver to say, so the rule is
played here: of those that carry more than their rating the one with the largest
share of it opens, and ngspice runs again.

A deck that ngspice does not converge on is tried with the options that its manual
gives for that (ATTEMPTS); what still does not converge stays in the file without
voltages, and is counted.
"""
import json
import random
import re
import subprocess
import sys
import tempfile

SEED = 20260914
NETWORKS = 400

# Newton's method lands on the solution of a piecewise-linear network exactly, once
# it is in the right segments, so RELTOL and VNTOL only have to be finer than the
# segments. ABSTOL bounds the current of a B source, whose rounding is that of 1e6 S
# times some volts. GMIN is for the junctions of SPICE's own models; there are none.
OPTIONS = "reltol=1e-8 vntol=1e-11 abstol=1e-8 gmin=1e-20 itl1=500 itl2=500 itl6=200"
ATTEMPTS = ["plain", "old gmin stepping", "started from a transient"]
# Where the operating point alone does not converge, the board is switched on with a
# capacitor on each net, and where that leads is where the operating point begins
# (.nodeset, which only guides the first steps and leaves the solution as it is).
LOOSE = "reltol=1e-3 vntol=1e-5 abstol=1e-5 chgtol=1e-10 method=gear gmin=1e-20 itl4=200"
TRANSIENTS = {2: (1e-9, "tran 1m 5 0 100m uic")}  # F
COMMAND = ["ngspice", "-b"]

SECONDS = 1  # for one run of ngspice; what takes longer makes no headway

INSULATION, OFF_LEAK, FLAT_LEAK = 1e-10, 1e-9, 1e-9
IDLE = 1e14  # ohm of a source that gives nothing


class Network:
    def __init__(self, rng):
        self.rng = rng
        self.nets = {}       # name to the level declared for it
        self.head = []
        self.lines = []      # of the board file
        self.deck = []       # element lines
        self.fuses = []      # (part, a, b, ohms, rating)
        self.count = {}
        self.decisions = []
        self.held = set()
        self.parts = 0
        self.extra = 0

    # ---- names and numbers

    def name(self, letters):
        self.count[letters] = self.count.get(letters, 0) + 1
        self.parts += 1
        return f"{letters}{self.count[letters]}"

    def net(self, level=None):
        n = f"N{len(self.nets) + 1}"
        if level is None:
            level = self.rng.choice([1.0, 1.2, 1.8, 2.5, 3.3, 5.0, 12.0])
        self.nets[n] = level
        self.head.append(f"net {n} {level!r}V")
        return n

    def value(self, low, high):
        """A value with five digits, evenly spread over the decades."""
        from math import log
        return float(f"{low * 2.718281828459045 ** (self.rng.random() * log(high / low)):.5g}")

    def old(self):
        return self.rng.choice(list(self.nets))

    def limit(self):
        """A current limit, tight for one source in four."""
        return self.value(0.02, 1) if self.rng.random() < 0.25 else self.value(2, 20)

    # ---- SPICE

    def v(self, n):
        return "0" if n == "GND" else f"V({n.lower()})"

    def node(self, n):
        return "0" if n == "GND" else n.lower()

    def across(self, a, b):
        if b == "GND":
            return self.v(a)
        if a == "GND":
            return f"(-{self.v(b)})"
        return f"({self.v(a)}-{self.v(b)})"

    def source(self, part, out, volts):
        """A source whose voltage depends on the current i(V<part>) that it gives."""
        self.deck.append(f"B{part} s_{part.lower()} 0 V = {volts}")
        self.deck.append(f"V{part} s_{part.lower()} {self.node(out)} 0")
        self.held.add(out.lower())  # a nodeset there would leave the current open

    def b(self, part, a, b, current):
        self.extra += 1
        self.deck.append(f"B{part}_{self.extra} {self.node(a)} {self.node(b)} I = {current}")

    def r(self, part, a, b, ohms):
        self.extra += 1
        self.deck.append(f"R{part}_{self.extra} {self.node(a)} {self.node(b)} {ohms!r}")

    def decides(self, part, condition):
        """A node of its own that is 1 V while a condition holds."""
        self.extra += 1
        n = f"on_{part.lower()}_{self.extra}"
        self.deck.append(f"B{n} w{n} 0 V = ({condition}) ? 1 : 0")
        self.deck.append(f"R{n} w{n} {n} 1k")
        self.decisions.append(n)
        return f"V({n})"

    def junction(self, part, a, b, vf, ohms):
        x = self.across(a, b)
        self.b(part, a, b, f"{x} < {vf!r} ? {OFF_LEAK!r}*{x} : {OFF_LEAK * vf!r} + ({x}-{vf!r})/{ohms!r}")

    def switch(self, part, a, b, on, ohms, amps=None):
        x = self.across(a, b)
        law = f"{x}/{ohms!r}"
        if amps is not None:
            top = ohms * amps
            law = (f"({x} > {top!r} ? {amps!r} + {FLAT_LEAK!r}*({x}-{top!r}) : "
                   f"({x} < {-top!r} ? {-amps!r} + {FLAT_LEAK!r}*({x}+{top!r}) : {x}/{ohms!r}))")
        self.b(part, a, b, f"{on}*({law}) + (1-{on})*{OFF_LEAK!r}*{x}")

    # ---- parts

    def supply(self):
        volts = self.rng.choice([1.8, 3.3, 5.0, 9.0, 12.6, 19.0])
        gives, limit = self.value(0.9 * volts, 1.1 * volts), self.limit()
        p, out = self.name("PS"), self.net(volts)
        self.lines.append(f"supply {p} -> {out} limit={limit!r}A gives={gives!r}V")
        self.source(p, out, f"i(V{p}) < {limit!r} ? {gives!r} : {gives!r} - {1 / FLAT_LEAK!r}*(i(V{p})-{limit!r})")
        return out

    def resistor(self, a, b, low=10, high=300e3):
        ohms = self.value(low, high)
        kind, letters = self.rng.choice([("resistor", "R")] * 6 + [("filter", "FL"), ("ferrite", "FB")])
        p = self.name(letters)
        self.lines.append(f"{kind} {p} {a} -> {b} r={ohms!r}")
        self.r(p, a, b, ohms)

    def diode(self, a, b):
        vf = self.value(0.2, 0.9)
        p = self.name("D")
        self.lines.append(f"diode {p} {a} -> {b} vf={vf!r}V")
        self.junction(p, a, b, vf, 0.05)

    def clamp(self, a):
        volts = self.value(2, 15)
        p = self.name("D")
        self.lines.append(f"clamp {p} {a} -> GND volts={volts!r}V")
        x, top = self.v(a), 1.2 * volts
        self.b(p, a, "GND", f"{x} > {top!r} ? {OFF_LEAK * top!r} + ({x}-{top!r}) : "
                            f"({x} < -0.6 ? {-0.6 * OFF_LEAK!r} + ({x}+0.6) : {OFF_LEAK!r}*{x})")

    def leds(self, a, b):
        n, vf, amps = self.rng.randint(1, 4), self.value(1.5, 3.3), self.value(2e-3, 30e-3)
        p = self.name("DS")
        self.lines.append(f"leds {p} {a} -> {b} series={n} vf={vf!r}V current={amps!r}A")
        slope = min(5.0, 0.5 * vf / amps)
        self.junction(p, a, b, n * (vf - amps * slope), n * slope)

    def fuse(self, a, b):
        ohms, rating = self.value(0.02, 0.5), self.value(0.02, 5)
        p = self.name("F")
        self.lines.append(f"fuse {p} {a} -> {b} rating={rating!r}A r={ohms!r}")
        self.fuses.append((p, a, b, ohms, rating))

    def capacitor(self, a, b):
        p = self.name("C")
        self.lines.append(f"capacitor {p} {a} -> {b} 100n")

    def pfet(self, source, drain, gate):
        ohms = self.value(0.02, 0.3)
        p = self.name("Q")
        self.lines.append(f"pfet {p} {source} -> {drain} gate={gate} r={ohms!r}")
        self.switch(p, source, drain, self.decides(p, f"{self.across(gate, source)} <= -1.5"), ohms)
        self.junction(p, drain, source, 0.6, 0.05)

    def nfet(self, drain, source, gate):
        ohms = self.value(0.02, 5)
        p = self.name("Q")
        self.lines.append(f"nfet {p} {drain} -> {source} gate={gate} r={ohms!r}")
        self.switch(p, drain, source, self.decides(p, f"{self.across(gate, source)} >= 1.5"), ohms)
        self.junction(p, source, drain, 0.6, 0.05)

    def enable(self, en):
        """An enable input: its words for the board file and its condition."""
        if en is None:
            return "", "1 > 0"
        if self.rng.random() < 0.3:
            return f" en={en} on=low", f"{self.v(en)} < 1.2"
        return f" en={en}", f"{self.v(en)} >= 1.2"

    def loadswitch(self, a, b, en):
        ohms, limit = self.value(0.02, 0.3), self.value(0.01, 3)
        p = self.name("U")
        words, condition = self.enable(en)
        self.lines.append(f"loadswitch {p} {a} -> {b}{words} gnd=GND limit={limit!r}A r={ohms!r}")
        self.switch(p, a, b, self.decides(p, condition), ohms, limit)

    def regulator(self, a, out, en):
        gives, limit = self.value(0.9, 6), self.limit()
        p = self.name("U")
        words, condition = self.enable(en)
        self.lines.append(f"regulator {p} in={a} out={out}{words} gnd=GND gives={gives!r}V limit={limit!r}A")
        room, x = f"({self.v(a)}-0.1)", f"i(V{p})"
        on = self.decides(p, f"({condition}) && {room} > 0.1")
        level = f"({room} < {gives!r} ? {room} : {gives!r})"
        self.source(p, out, f"{on} > 0.5 ? ({x} < 0 ? {level} - {IDLE!r}*{x} : ({x} < {limit!r} ? {level} : {level} - {1 / FLAT_LEAK!r}*({x}-{limit!r}))) : -{IDLE!r}*{x}")
        self.b(p, a, "GND", f"{x} > 0 && {self.v(a)} > 0.1 && {self.v(out)} > 0 ? {x}*{self.v(out)}/(0.9*{self.v(a)}) : 0")

    def gate(self, ins, out, vdd):
        kind = self.rng.choice(["buffer", "inverter"] if len(ins) == 1 else ["and", "or", "nand", "nor"])
        p = self.name("U")
        draws = self.value(1e-4, 5e-3)
        self.lines.append(f"{kind} {p} in={','.join(ins)} out={out} vdd={vdd} gnd=GND draws={draws!r}A")
        level = max(self.nets[vdd], 1)
        self.r(p, vdd, "GND", level / draws)
        tests = []
        for n in ins:
            full = self.nets[n]
            if full < 1.8:  # too low a level to be told from low: the supply counts
                supply = f"({self.v(vdd)} > 0 ? {self.v(vdd)} : 0)"
                full = max(full, 1)
                tests.append(f"({self.v(n)} >= 0.5*({supply} > {full!r} ? {supply} : {full!r}))")
            else:
                tests.append(f"({self.v(n)} >= {0.5 * full!r})")
        word = {"and": " && ", "nand": " && "}.get(kind, " || ").join(tests)
        if kind in ("inverter", "nand", "nor"):
            word = f"!({word})"
        powered = f"{self.v(vdd)} >= {0.8 * level!r}"
        self.b(p, vdd, out, f"{self.decides(p, f'{powered} && ({word})')} *{self.across(vdd, out)}/30")
        self.b(p, out, "GND", f"{self.decides(p, f'{powered} && !({word})')} *{self.v(out)}/30")

    # ---- whole networks

    def grow(self):
        rng = self.rng
        target = rng.randint(5, 25)
        rails = [self.supply() for _ in range(rng.choice([1, 1, 2, 3]))]
        while self.parts < target:
            a = rng.choice(rails) if rng.random() < 0.3 else self.old()
            match rng.choice(["series", "series", "load", "load", "divider", "join", "diode", "diode", "clamp", "leds", "fuse", "fuse",
                              "capacitor", "high side", "high side", "low side", "loadswitch", "regulator", "regulator", "gate", "or-ing"]):
                case "series":
                    self.resistor(a, self.net())
                case "load":
                    self.resistor(a, "GND")
                case "divider":
                    mid = self.net()
                    self.resistor(a, mid)
                    self.resistor(mid, "GND")
                case "join":
                    b = self.old()
                    if a != b:
                        self.resistor(a, b, 100)
                case "diode":
                    b = self.old() if rng.random() < 0.3 else self.net()
                    if a != b:
                        self.diode(*rng.choice([(a, b), (a, b), (b, a)]))
                        if rng.random() < 0.5:
                            self.resistor(b, "GND")
                case "clamp":
                    mid = self.net()
                    self.resistor(a, mid)
                    self.clamp(mid)
                case "leds":
                    k = self.net()
                    self.leds(a, k)
                    self.resistor(k, "GND", 20, 2e3)
                case "fuse":
                    b = self.net()
                    self.fuse(a, b)
                    if rng.random() < 0.6:
                        self.resistor(b, "GND", 1, 1e3)
                case "capacitor":
                    self.capacitor(a, "GND")
                case "high side":
                    control, out, gate = self.old(), self.net(), self.net()
                    self.pfet(a, out, gate)
                    self.resistor(a, gate, 1e3)
                    if rng.random() < 0.8:
                        self.nfet(gate, "GND", control)
                    if rng.random() < 0.7:
                        self.resistor(out, "GND")
                case "low side":
                    control, drain = self.old(), self.net()
                    self.resistor(a, drain)
                    self.nfet(drain, "GND", control)
                case "loadswitch":
                    # Enabled by another net: one that its own input turns off would have two states of rest.
                    en, out = rng.choice([n for n in self.nets if n != a] or [a]), self.net()
                    self.loadswitch(a, out, en)
                    self.resistor(out, "GND", 1)
                case "regulator":
                    en, out = rng.choice([None, self.old()]), self.net()
                    self.regulator(a, out, en)
                    self.resistor(out, "GND", 1)
                    rails.append(out)
                case "gate":
                    ins = rng.sample(list(self.nets), min(len(self.nets), rng.randint(1, 3)))
                    self.gate(ins, self.net(), rng.choice(rails))
                case "or-ing":
                    b, out = rng.choice(rails), self.net()
                    self.diode(a, out)
                    if a != b:
                        self.diode(b, out)
                    self.resistor(out, "GND")

    def board(self, k):
        return "\n".join([f"board n{k}", "net GND ground", *self.head, *self.lines]) + "\n"

    def text(self, blown, options, more, run):
        lines = ["random network", f".options {options}"]
        lines += [f"Rins_{n} {n.lower()} 0 {1 / INSULATION!r}" for n in self.nets]
        lines += self.deck
        lines += [f"R{p} {self.node(a)} {self.node(b)} {ohms!r}" for p, a, b, ohms, _ in self.fuses if p not in blown]
        lines += more + [".control", "optran 1 1 1 0 0 0", run, "set numdgt=16"]
        for n in [n.lower() for n in self.nets] + self.decisions:
            lines += [f"let end_{n} = v({n})[length(v({n}))-1]" if run != "op" else f"let end_{n} = v({n})", f"print end_{n}"]
        return "\n".join(lines + [".endc", ".end"]) + "\n"

    def attempt(self, blown, i):
        """What ngspice prints in attempt i, or None when it does not converge."""
        if i == 0:
            return volts(self.text(blown, OPTIONS, [], "op"))
        if i == 1:
            return volts(self.text(blown, OPTIONS + " gminsteps=20", [], "op"))
        c, run = TRANSIENTS[i]
        more = [f"Cslow_{n} {n.lower()} 0 {c!r}" for n in self.nets] + [f"Cslow_{n} {n} 0 {c!r}" for n in self.decisions]
        start = volts(self.text(blown, LOOSE, more, run))
        if start is None:
            return None
        return volts(self.text(blown, OPTIONS, [f".nodeset v({n})={x!r}" for n, x in start.items() if n not in self.held], "op"))


def volts(deck):
    with tempfile.NamedTemporaryFile("w", suffix=".cir") as f:
        f.write(deck)
        f.flush()
        try:
            run = subprocess.run(COMMAND + [f.name], capture_output=True, text=True, timeout=SECONDS)
        except subprocess.TimeoutExpired:
            return None
    if re.search(r"simulation interrupted|simulation\(s\) aborted", run.stdout + run.stderr, re.I):
        return None
    return {m[1]: float(m[2]) for m in re.finditer(r"^end_(\w+) = (\S+)$", run.stdout, re.M)}


def solve(network):
    """Voltages with the fuses that blew, and the attempt that converged."""
    blown, worst = [], 0
    while True:
        for i in range(len(ATTEMPTS)):
            all_nodes = network.attempt(blown, i)
            if all_nodes is not None:
                break
        if all_nodes is None:
            return None, blown, len(ATTEMPTS)
        worst = max(worst, i)
        found = {n: all_nodes[n.lower()] for n in network.nets}
        level = {"GND": 0.0, **found}
        over = [(abs(level[a] - level[b]) / ohms / rating, p) for p, a, b, ohms, rating in network.fuses if p not in blown]
        share, part = max(over, default=(0, ""))
        if share <= 1 + 1e-9:
            return found, blown, worst
        blown.append(part)


def short(x):
    """A voltage to 1 nV and to ten digits."""
    return float(f"{round(x, 9):.10g}")


def main():
    rng = random.Random(SEED)
    version = re.search(r"ngspice-[\w.+]+", subprocess.run(["ngspice", "--version"], capture_output=True, text=True).stdout)[0]
    boards, attempts = [], [0] * (len(ATTEMPTS) + 1)
    for k in range(NETWORKS):
        n = Network(rng)
        n.grow()
        found, blown, attempt = solve(n)
        attempts[attempt] += 1
        entry = {"board": n.board(k), "blown": blown}
        if found is not None:
            entry["volts"] = {name: short(x) for name, x in found.items()}
        boards.append(entry)
    counts = {name: c for name, c in zip(ATTEMPTS + ["none"], attempts)}
    json.dump({"ngspice": version, "command": " ".join(COMMAND + ["DECK"]), "options": OPTIONS, "seed": SEED, "converged": counts,
               "networks": len(boards)}, sys.stdout)
    print()
    for b in boards:
        json.dump(b, sys.stdout, separators=(",", ":"))
        print()


if __name__ == "__main__":
    main()
