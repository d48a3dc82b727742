"""Every entry that --with can try, by its path, with the words that it takes: the catalogue's, where no more is loaded.

CYLINDER, TRAIN and LOBE stand for names, # for the number of a row. Written by `python -m tests.entry_paths`.
"""

ENTRIES = """\
wanted pushrods valves compression speed bores assembly ports springs hot record
shelf
record
crank.stroke
crank.conrod_length
crank.turns forward backward
crank.counterweight_radius
crank.conrod_beam_width
crank.conrod_area
crank.conrod_modulus
crank.conrod_beam_mass
crank.big_end_clearance
crank.main_clearance
crank.bending
crank.bending_at
crank.just_touched.squish
crank.just_touched.speed
piston.compression_height
piston.pin_offset
piston.crown_thickness
piston.ring_land
piston.dome.height
piston.dome.diameter
piston.dish.depth
piston.dish.diameter
piston.crown_table
piston.diameter
piston.skirt_below_pin
piston.skirt_inner
piston.arch_width
piston.arch_height
piston.boss_below_pin
piston.oil_ring
piston.mass
piston.pin_clearance
piston.skirt_clearance
piston.skirt_contact_length
piston.crown_volume
stack.base_gasket
stack.cylinder
stack.head_gasket
stack.case_cut
stack.head_cut
stack.bore
stack.case_deck
stack.block_deck
stack.measured_deck.below
stack.measured_deck.on now before
stack.base_gasket_free
stack.head_gasket_free
stack.mouth_width
stack.mouth_below
chamber.release_closes
chamber.release_hole
chamber.volume
chamber.head_cut
chamber.gasket_bore
CYLINDER.lean
CYLINDER.offset
CYLINDER.pin
CYLINDER.fires_at
CYLINDER.stack.base_gasket
CYLINDER.stack.cylinder
CYLINDER.stack.head_gasket
CYLINDER.stack.case_cut
CYLINDER.stack.head_cut
CYLINDER.stack.bore
CYLINDER.stack.case_deck
CYLINDER.stack.block_deck
CYLINDER.stack.measured_deck.below
CYLINDER.stack.measured_deck.on now before
CYLINDER.stack.base_gasket_free
CYLINDER.stack.head_gasket_free
CYLINDER.stack.mouth_width
CYLINDER.stack.mouth_below
CYLINDER.piston.compression_height
CYLINDER.piston.pin_offset
CYLINDER.piston.crown_thickness
CYLINDER.piston.ring_land
CYLINDER.piston.dome.height
CYLINDER.piston.dome.diameter
CYLINDER.piston.dish.depth
CYLINDER.piston.dish.diameter
CYLINDER.piston.crown_table
CYLINDER.piston.diameter
CYLINDER.piston.skirt_below_pin
CYLINDER.piston.skirt_inner
CYLINDER.piston.arch_width
CYLINDER.piston.arch_height
CYLINDER.piston.boss_below_pin
CYLINDER.piston.oil_ring
CYLINDER.piston.mass
CYLINDER.piston.pin_clearance
CYLINDER.piston.skirt_clearance
CYLINDER.piston.skirt_contact_length
CYLINDER.piston.crown_volume
CYLINDER.chamber.release_closes
CYLINDER.chamber.release_hole
CYLINDER.chamber.volume
CYLINDER.chamber.head_cut
CYLINDER.chamber.gasket_bore
CYLINDER.studs.stands
CYLINDER.studs.head_seat
CYLINDER.studs.washer
CYLINDER.studs.nut_height
CYLINDER.studs.diameter
CYLINDER.spigot.length
CYLINDER.spigot.outer_diameter
CYLINDER.spigot.chamfer
CYLINDER.spigot.reliefs.#.at
CYLINDER.spigot.reliefs.#.width
CYLINDER.spigot.reliefs.#.height
CYLINDER.intake_face.centre
CYLINDER.intake_face.normal.around
CYLINDER.intake_face.normal.up
CYLINDER.intake_face.normal
CYLINDER.exhaust_face.centre
CYLINDER.exhaust_face.normal.around
CYLINDER.exhaust_face.normal.up
CYLINDER.exhaust_face.normal
CYLINDER.valves_touch.edge_intake
CYLINDER.valves_touch.edge_exhaust
CYLINDER.valves_touch.between_stems
CYLINDER.valves_touch.spread_off
CYLINDER.valves_touch.together
CYLINDER.bore_readings.top_across
CYLINDER.bore_readings.top_along
CYLINDER.bore_readings.top_largest
CYLINDER.bore_readings.middle_across
CYLINDER.bore_readings.middle_along
CYLINDER.bore_readings.middle_largest
CYLINDER.bore_readings.bottom_across
CYLINDER.bore_readings.bottom_along
CYLINDER.bore_readings.bottom_largest
CYLINDER.bore_readings.bore_temperature
CYLINDER.bore_readings.piston_temperature
CYLINDER.bore_readings.lay_together yes no
CYLINDER.bore_readings.new_size
CYLINDER.bore_readings.gap_top
CYLINDER.bore_readings.gap_bottom
CYLINDER.bore_readings.plated yes no
CYLINDER.liner.outer_diameter
CYLINDER.liner.jacket_diameter
CYLINDER.points.NAME
lobe.LOBE.table
lobe.LOBE.card.peak
lobe.LOBE.card.duration.at
lobe.LOBE.card.duration.degrees
lobe.LOBE.card.duration.#.at
lobe.LOBE.card.duration.#.degrees
lobe.LOBE.card.seat.at
lobe.LOBE.card.seat.degrees
lobe.LOBE.card.events.at
lobe.LOBE.card.events.opens
lobe.LOBE.card.events.closes
lobe.LOBE.card.top_centre
lobe.LOBE.card.lift.angle
lobe.LOBE.card.lift.at
lobe.LOBE.card.lift.#.angle
lobe.LOBE.card.lift.#.at
lobe.LOBE.card.opening.at
lobe.LOBE.card.opening.opens
lobe.LOBE.card.opening.#.at
lobe.LOBE.card.opening.#.opens
lobe.LOBE.card.closing.at
lobe.LOBE.card.closing.closes
lobe.LOBE.card.closing.#.at
lobe.LOBE.card.closing.#.closes
lobe.LOBE.card.top_dwells yes no
lobe.LOBE.card.ratio
lobe.LOBE.card.lash
lobe.LOBE.law.name cycloidal 3-4-5 4-5-6-7 modified-sine
lobe.LOBE.law.peak
lobe.LOBE.law.degrees
lobe.LOBE.measured_at lifter valve
lobe.LOBE.lash_read
lobe.LOBE.dialled.lifter
lobe.LOBE.dialled.valve
lobe.LOBE.dialled.#.lifter
lobe.LOBE.dialled.#.valve
lobe.LOBE.read_on_springs checking running
lobe.LOBE.bled
lobe.LOBE.read_with.tip
lobe.LOBE.read_with.roller
lobe.LOBE.read_with flat "the engine's own follower"
lobe.LOBE.read_offset
lobe.LOBE.base_radius
lobe.LOBE.ground_for flat roller
lobe.LOBE.angle cam crank
lobe.LOBE.units mm in
lobe.LOBE.zero peak "top centre"
lobe.LOBE.centreline
lobe.LOBE.centreline_by "equal lifts" "the nose"
cam.advance
cam.backlash
cam.gear_backlash
cam.gear_radius
TRAIN.lobe
TRAIN.lifter.kind hydraulic solid
TRAIN.lifter.seat
TRAIN.lifter.lean
TRAIN.lifter.lowered
TRAIN.lifter.plunger_travel
TRAIN.lifter.preload
TRAIN.lifter.lash
TRAIN.lifter.lash_at valve pushrod
TRAIN.lifter.follower.roller
TRAIN.lifter.follower flat
TRAIN.lifter.follower_offset
TRAIN.lifter.foot_width
TRAIN.lifter.below_deck
TRAIN.lifter.above_cam
TRAIN.rocker.shaft
TRAIN.rocker.direction.around
TRAIN.rocker.direction.up
TRAIN.rocker.direction
TRAIN.rocker.valve_arm
TRAIN.rocker.pushrod_arm
TRAIN.rocker.ratio
TRAIN.rocker.cup
TRAIN.rocker.arm_angle
TRAIN.rocker.span
TRAIN.rocker.arms droop rise
TRAIN.rocker.valve_station
TRAIN.rocker.pushrod_station
TRAIN.rocker.tip_radius
TRAIN.rocker.ratio_at_seat
TRAIN.rocker.cup_above_gasket
TRAIN.rocker.shaft_above_cup
TRAIN.rocker.shaft_above_tip
TRAIN.rocker.adjuster.kind none "pushrod screw" "valve screw" "pivot nut" "lifter screw" "eccentric shaft"
TRAIN.rocker.adjuster.threads_per_inch
TRAIN.rocker.adjuster.pitch
TRAIN.rocker.adjuster.flats
TRAIN.rocker.adjuster.axis
TRAIN.rocker.adjuster.eccentricity
TRAIN.rocker.adjuster.eccentric_at
TRAIN.rocker.adjuster.turns_in
TRAIN.rocker.adjuster.turns_out
TRAIN.valve.face
TRAIN.valve.lean
TRAIN.valve.length
TRAIN.valve.tip_height
TRAIN.valve.head_diameter
TRAIN.valve.margin
TRAIN.valve.stem_diameter
TRAIN.valve.sink
TRAIN.valve.sits_lower_hot
TRAIN.valve.retainer_to_seal
TRAIN.pocket.centre
TRAIN.pocket.deepest
TRAIN.pocket.lean
TRAIN.pocket.diameter
TRAIN.pocket.depth
TRAIN.pushrod.ball_diameter_low
TRAIN.pushrod.ball_diameter_high
TRAIN.pushrod.hole_low
TRAIN.pushrod.hole_high
TRAIN.pushrod.end_low ball cup
TRAIN.pushrod.end_high ball cup
TRAIN.pushrod.cup_rim
TRAIN.pushrod.gauge
TRAIN.pushrod.diameter
TRAIN.pushrod.wall
TRAIN.pushrod.material aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
TRAIN.pushrod.expansion
TRAIN.pushrod.cup_depth_low
TRAIN.pushrod.cup_depth_high
TRAIN.pushrod.cup_radius_low
TRAIN.pushrod.cup_radius_high
TRAIN.assembly.rocker_box on off
TRAIN.assembly.valve_opened
TRAIN.assembly.adjuster_back
TRAIN.tube.seat_low
TRAIN.tube.seat_high
TRAIN.tube.shortest
TRAIN.tube.longest
TRAIN.tube.inner_diameter
TRAIN.spring.installed
TRAIN.spring.free_length
TRAIN.spring.force
TRAIN.spring.force_at
TRAIN.spring.rate
TRAIN.spring.wire
TRAIN.spring.mean_diameter
TRAIN.spring.active_coils
TRAIN.spring.shear_modulus
TRAIN.spring.solid_height
TRAIN.spring.#.installed
TRAIN.spring.#.free_length
TRAIN.spring.#.force
TRAIN.spring.#.force_at
TRAIN.spring.#.rate
TRAIN.spring.#.wire
TRAIN.spring.#.mean_diameter
TRAIN.spring.#.active_coils
TRAIN.spring.#.shear_modulus
TRAIN.spring.#.solid_height
TRAIN.masses.valve
TRAIN.masses.springs
TRAIN.masses.rocker
TRAIN.masses.pushrod
TRAIN.masses.lifter
TRAIN.nose_lift.checking
TRAIN.nose_lift.checking_force
TRAIN.nose_lift.running
TRAIN.nose_lift.running_force
TRAIN.measured_pushrod.ball_diameter_low
TRAIN.measured_pushrod.ball_diameter_high
TRAIN.measured_pushrod.hole_low
TRAIN.measured_pushrod.hole_high
TRAIN.measured_pushrod.end_low ball cup
TRAIN.measured_pushrod.end_high ball cup
TRAIN.measured_pushrod.cup_rim
TRAIN.measured_pushrod.gauge
TRAIN.measured_pushrod.length
TRAIN.measured_pushrod.checking_rod.closed
TRAIN.measured_pushrod.checking_rod.turns
TRAIN.measured_pushrod.checking_rod.threads_per_inch
TRAIN.measured_pushrod.checking_rod.pitch
TRAIN.measured_pushrod.as overall theoretical gauge centres
TRAIN.measured_pushrod.plunger.down
TRAIN.measured_pushrod.plunger top bottomed "solid checking lifter"
TRAIN.measured_pushrod.lean
TRAIN.measured_pushrod.stack.base_gasket
TRAIN.measured_pushrod.stack.cylinder
TRAIN.measured_pushrod.stack.head_gasket
TRAIN.measured_pushrod.stack.case_cut
TRAIN.measured_pushrod.stack.head_cut
TRAIN.measured_pushrod.lifter.lowered
TRAIN.measured_pushrod.valve.sink
TRAIN.measured_pushrod.on now before
TRAIN.measured_drop.drop
TRAIN.measured_drop.lean
TRAIN.measured_drop.meets pocket crown
TRAIN.measured_drop.room
TRAIN.measured_drop.stack.base_gasket
TRAIN.measured_drop.stack.cylinder
TRAIN.measured_drop.stack.head_gasket
TRAIN.measured_drop.stack.case_cut
TRAIN.measured_drop.stack.head_cut
TRAIN.measured_drop.crank.stroke
TRAIN.measured_drop.crank.conrod_length
TRAIN.measured_drop.crank.turns forward backward
TRAIN.measured_drop.crank.counterweight_radius
TRAIN.measured_drop.crank.conrod_beam_width
TRAIN.measured_drop.crank.conrod_area
TRAIN.measured_drop.crank.conrod_modulus
TRAIN.measured_drop.crank.conrod_beam_mass
TRAIN.measured_drop.crank.big_end_clearance
TRAIN.measured_drop.crank.main_clearance
TRAIN.measured_drop.crank.bending
TRAIN.measured_drop.crank.bending_at
TRAIN.measured_drop.crank.just_touched.squish
TRAIN.measured_drop.crank.just_touched.speed
TRAIN.measured_drop.piston.compression_height
TRAIN.measured_drop.piston.pin_offset
TRAIN.measured_drop.piston.crown_thickness
TRAIN.measured_drop.piston.ring_land
TRAIN.measured_drop.piston.dome.height
TRAIN.measured_drop.piston.dome.diameter
TRAIN.measured_drop.piston.dish.depth
TRAIN.measured_drop.piston.dish.diameter
TRAIN.measured_drop.piston.crown_table
TRAIN.measured_drop.piston.diameter
TRAIN.measured_drop.piston.skirt_below_pin
TRAIN.measured_drop.piston.skirt_inner
TRAIN.measured_drop.piston.arch_width
TRAIN.measured_drop.piston.arch_height
TRAIN.measured_drop.piston.boss_below_pin
TRAIN.measured_drop.piston.oil_ring
TRAIN.measured_drop.piston.mass
TRAIN.measured_drop.piston.pin_clearance
TRAIN.measured_drop.piston.skirt_clearance
TRAIN.measured_drop.piston.skirt_contact_length
TRAIN.measured_drop.piston.crown_volume
TRAIN.measured_drop.valve.sink
TRAIN.measured_drop.on now before
targets.drop_intake
targets.drop_exhaust
targets.wall
targets.valve_to_valve
targets.valve_to_bore
targets.coil_bind
targets.retainer
targets.squish_least
targets.squish_most
targets.squish_at_speed
targets.drop_at_speed
targets.piston_clearance_least
targets.piston_clearance_most
targets.taper
targets.out_of_round
targets.cylinder_wall
targets.skirt
targets.oil_ring_least
targets.skirt_out_most
targets.across
targets.spigots
targets.lowering
targets.tube
targets.compression_ratio
targets.seat_force
targets.hot_lash
targets.cover
targets.rocker_to_retainer
targets.stud_diameters
targets.preload_least
targets.preload_most
targets.bottom_least
targets.pumped
running.speed
running.growth
running.play_was "pressed down" drawings "pulled up"
running.deck_read "at the middle" "rocked, at the rim"
running.altitude
running.cranking_speed
running.pressure_at_opening
running.cold
running.hot_cylinder
running.hot_case
running.hot_head
running.hot_valve
running.hot_rocker
running.hot_pushrod
running.hot_lifter
running.hot_piston
running.hot_conrod
running.hot_crank
materials.cylinder aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.case aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.head aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.valve aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.rocker aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.pushrod aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.lifter aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.piston aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.conrod aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.crank aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.liner aluminium "cast aluminium" "grey iron" "ductile iron" steel "mild steel" "stainless steel" titanium
materials.expansion_cylinder
materials.expansion_case
materials.expansion_head
materials.expansion_valve
materials.expansion_rocker
materials.expansion_pushrod
materials.expansion_lifter
materials.expansion_piston
materials.expansion_conrod
materials.expansion_crank
studs.stands
studs.head_seat
studs.washer
studs.nut_height
studs.diameter
instrument.#.name
instrument.#.zero
reading.#.face intake exhaust
reading.#.value
reading.#.volume
reading.#.lifter_lift
reading.#.at
reading.#.plunger.down
reading.#.plunger top bottomed "solid checking lifter"
reading.#.stack.base_gasket
reading.#.stack.cylinder
reading.#.stack.head_gasket
reading.#.stack.case_cut
reading.#.stack.head_cut
reading.#.on now before
reading.#.as overall theoretical gauge centres
oversize.piston.#.diameter
oversize.clearance
oversize.cut_least
oversize.hone
oversize.bar "unworn end" "worn bore"
"""
