"""The fixed words of tools: what sort, where, what they are asked and whether they can do it."""

from __future__ import annotations

from kitting.facts.words import Word


class ToolSort(Word):
    """What sort of tool it is."""

    SOCKET = "socket"
    BIT = "bit"
    KEY = "key"
    CROWFOOT = "crowfoot"
    RATCHET = "ratchet"
    BAR = "bar"
    ADAPTOR = "adaptor"
    EXTENSION = "extension"
    UNIVERSAL_JOINT = "universal joint"
    TORQUE_WRENCH = "torque wrench"
    ANGLE_GAUGE = "angle gauge"
    GENERAL = "general"


class ToolState(Word):
    """Where a tool is."""

    HERE = "here"
    LENT = "lent"
    AT_CALIBRATION = "at calibration"
    BROKEN = "broken"


class ToolOfferWay(Word):
    """How an offered tool is had."""

    BUY = "buy"
    HIRE = "hire"
    BORROW = "borrow"


class ToolTask(Word):
    """What is asked of the tools at a position."""

    UNDO = "undo"
    TORQUE = "torque"
    ANGLE = "angle"
    GENERAL = "general"


class ToolAskSort(Word):
    """What a plan asks the toolbox for, in the order in which it is listed."""

    TURN = "turn"
    DRIVE = "drive"
    TORQUE = "torque"
    ANGLE = "angle"
    GENERAL = "general"


class ToolVerdict(Word):
    """Whether the tools can do it; unknown where a figure or a head is not stated.

    Stopped waits for a variant that is not settled.
    """

    GAP = "gap"
    STOPPED = "stopped"
    UNKNOWN = "unknown"
    HAVE = "have"


class FigureVerdict(Word):
    """How far the tools reach a torque: all of the train, only the wrench, not even that.

    Unknown where a train might do it, but it cannot be proven.
    """

    GAP = "gap"
    WRENCH = "wrench"
    UNKNOWN = "unknown"
    HAVE = "have"


class WrenchClass(Word):
    """The classes of ISO 6789-1:2017: I indicates, II clicks at what is set.

    I A is a bending or torsion beam, I B has a scale or dial, I C is electronic, I D and I E are
    screwdrivers; II A is adjustable with a scale, II B set to one torque, II C adjustable without a
    scale, II D to II F are screwdrivers, II G is an adjustable beam.
    """

    I_A = "I A"
    I_B = "I B"
    I_C = "I C"
    I_D = "I D"
    I_E = "I E"
    II_A = "II A"
    II_B = "II B"
    II_C = "II C"
    II_D = "II D"
    II_E = "II E"
    II_F = "II F"
    II_G = "II G"


class WrenchDirection(Word):
    """Which ways a torque wrench measures."""

    BOTH = "both"
    CLOCKWISE = "clockwise"


class RangePolicy(Word):
    """Which part of a scale counts: all that is marked, or from a fifth of the largest mark."""

    MARKED = "marked"
    FIFTH = "fifth"
