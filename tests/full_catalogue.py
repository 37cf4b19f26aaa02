"""A catalogue that states every field there is."""

# Everything that the sections which are written can state, each at least once. All invented.
FULL = """
about: {author: A. Sample, source: "invented, page 1", version: "2", licence: free for all}
cautions: [{code: own-care, title: Care, also: [heed], text: "Take care: it is hot.", word: HOT}]
fluids: [{code: own-fluid, name: own fluid, also: [juice, sauce], medium: engine-oil, cautions: [own-care]}]
licences: [{code: own-licence, name: Own licence, also: [card], text: ask}]
systems: [{code: own-system, name: own system, also: [works], general_torque: false, cautions: [own-care], licences: [own-licence]}]
tools: [{code: own-tool, name: own tool, also: [gadget]}]
kinds:
  - code: own-kind
    name: own kind
    also: [thing, "thing, other"]
    family: fastener
    threaded: true
    general_torque: false
    rubber: touches
    locks_threads: true
    chance: 0.25
    classes: ["8.8", "10.9"]
    dry: [PTFE]
    tools: [own-tool]
    cautions: [own-care]
    systems: [own-system]
    rules:
      - {rule: inspect, criterion: whole, reference: own data, relaxed_by: maker}
      - {rule: renew, fluid: own-fluid, reference: own data}
      - {rule: renew, medium: engine-oil, system: own-system, reference: own data}
      - {rule: keep, source: workshop, reference: own policy}
items:
  - code: A
    name: "A: the first, and best"
    names: {de: "A: der erste, und beste", fr: "A : le premier"}
    kind: own-kind
    pack: 10 each
    colour: black
    head: hexagon 17 mm
    thread: M12x1.25 LH
    length: 30 mm
    property_class: "10.9"
    bin: R1-01
    gtins: ["4006381333931", "06291041500213"]
    cautions: [own-care]
    rules: [{rule: renew, source: leaflet, criterion: if bent, reference: leaflet 1}]
    alternatives: [{item: RING, note: only there}, {item: TUBE}]
    replaced: {by: [{item: RING, quantity: 2 each}], old_stock: use up, since: 2031-01-01, note: later}
  - code: RING
    name: Ring
    kind: o-ring
    elastomer: FKM
    hardness: 75
    ring_inside: 17 mm
    ring_section: 2.5 mm
    shelf_life: 18 months
    sold_singly: false
    media: [{medium: engine-oil, rating: suitable, source: maker, reference: sheet 3}]
  - {code: SET, name: Set, kind: o-ring, contents: [{item: RING, quantity: 3 each}]}
  - code: TUBE
    name: Tube
    kind: sealant
    unit: ml
    pack: 70 ml
    nozzle_waste: 2.5 ml
    opened_life: 60 days
    shelf_life: 2 years
    medium: engine-oil
    times: {open: 10 min, cure: 1 h 30 min, laying: 1.5 m/min, at: 23 °C, source: sheet 4}
units:
  - code: u
    name: U
    splits:
      - code: s
        question: Which?
        check: Look.
        options:
          - {code: a, name: a, built_from: 2019-01-01, seen: a rib}
          - {code: b, name: b, built_before: 2019-01-01}
          - {code: c, name: c, equipment: sunroof}
          - {code: d, name: d, without: sunroof}
      - code: t
        question: Which pads?
        check: Offer both.
        settled_by: customer
        options: [{code: "1", name: one}, {code: "2", name: two}]
    joints:
      - code: j
        name: J
        system: own-system
        fluids: [own-fluid, engine-oil]
        cautions: [own-care]
        temperature: {hottest: 110 °C, source: measured}
        near: [paint]
        front: top
        seen_from: above
        order: [2, 1]
        fits:
          - item: A
            position: bolts
            quantity: 2 each
            group: g
            heat: hot
            refit_limit: 2
            lubricant: {item: TUBE, amount: 0.5 ml, source: maker, reference: page 1, cars_own: true}
            recess: 5 mm
            access: side
            protrusion: 3 mm
            into: aluminium
            engagement: 16 mm
            holes: [[0, 0], [10.5, -3]]
            tightening: {stages: [20 N·m, 4 ± 0.3 N·m, "+90°", "-45°"], thread: oiled, stage_order: in turn, source: page 2}
            rules: [{rule: renew, source: maker, criterion: always, reference: page 3}]
          - {item: RING, position: groove, end: upper, option: s/a, fluids: [engine-oil], lubricant: dry}
          - {item: A, position: words, tightening: {stages: [10 lbf·ft], pattern: crosswise, source: page 4}}
          - {item: A, position: unknown, tightening: {thread: dry}}
        uses:
          - {item: TUBE, bead: {diameter: 3 mm, length: 1.64 m}, option: s/b, note: once round}
          - {item: TUBE, film: {area: 6500 mm², thickness: 0.1 mm}}
          - {item: TUBE, drops: {thread: M8 x 1.25, threads: 4}}
      - {code: k, name: K, system: own-system}
    steps:
      - {code: S1, name: one, hours: 0.25 h, tools: [own-tool], cautions: [own-care], licence: own-licence}
      - code: S2
        name: two
        hours: 1.2 h
        option: s/c
        needs: [S1]
        opens: [k, {joint: j, times: 2, reopened: 1}]
        uses: [{item: TUBE, amount: 3.5 ml}]
    jobs:
      - code: X
        name: X
        needs: [S2]
        renews: [{kind: own-kind}, {item: RING}, {joint: j, position: bolts}]
        services: [{name: align, timing: before, licence: own-licence, option: t/2}]
models:
  - {code: m, name: M, units: [u], fluids: [{fluid: own-fluid, medium: gear-oil, lubricant: TUBE, reference: book}]}
vehicles:
  - registration: AB 1
    model: m
    vin: 1M8GDM9AXKP042788
    build_date: 2020-02-03
    weight: 1420 kg kerb
    fluids: [{fluid: own-fluid, medium: engine-oil, reference: plate}]
    equipment: {sunroof: true, tow-bar: false}
    units: [u]
    settled: {u/s: a}
    history: [{joint: u/j, position: bolts, on: 2024-05-06, outcome: renewed}]
"""
