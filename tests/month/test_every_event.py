"""Which test shows each point of the trials of a month, and each event of workshop life.

The month itself draws all of these but those marked with (–), which have tests of their own only.
A name that no test has any more fails here. What is not shown yet is named in `NOT_YET`.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
BOOKINGS, BUYING, STOCK = "services/bookings", "services/purchasing", "services/stock"

SHOWN = {
    # Wrong, safety and trace first
    "P1 opened stays opened, ages never merge": [
        f"{STOCK}/test_opened_stays_opened.py::test_a_cancelled_kit_puts_the_opened_part_to_the_opened_remainder",
        f"{STOCK}/test_lots_keep_their_nature.py::test_rings_of_another_age_arrive_in_a_lot_of_their_own",
        f"{BOOKINGS}/test_changing_kits.py::test_p1_what_was_opened_for_the_kit_goes_back_opened",
    ],
    "P2 no promise is left that nothing needs": [
        f"{BOOKINGS}/test_changing_kits.py::test_p2_planned_again_with_fewer_needs_no_hidden_promise_is_left",
        f"{BOOKINGS}/test_kit_moves.py::test_an_extra_piece_covers_no_need_while_the_others_wait",
    ],
    "P3 a recall follows what was opened or came beyond the order": [
        f"{STOCK}/test_opened_stays_opened.py::test_a_recall_follows_a_lot_to_its_opened_remainder_and_the_kit_that_took_of_it",
        f"{STOCK}/test_lots_keep_their_nature.py::test_a_recall_and_a_hold_reach_what_arrived_under_another_code",
    ],
    "P4 no car closes without its parts": [
        f"{BOOKINGS}/test_closing_asks.py::test_p4_everything_that_is_wrong_or_not_said_is_told_in_one_go",
    ],
    "P5 a list makes nothing younger (–)": [
        f"{STOCK}/test_shelves.py::test_p5_a_list_makes_nothing_on_a_shelf_younger",
    ],
    "P15 the unit of what is counted stays (–)": [
        "services/catalogue/test_load.py::test_p15_the_unit_of_what_is_counted_somewhere_stays",
    ],
    "P6 what comes free is counted before buying": [
        f"{BUYING}/test_buying_for_all.py::test_p6_what_comes_free_is_counted_as_placing_would",
    ],
    "P7 punctual deliveries do not block a supplier": [
        f"{BUYING}/test_learned_deliveries.py::test_p7_ten_punctual_deliveries_do_not_block_a_supplier",
        f"{BUYING}/test_learned_deliveries.py::test_p7_days_are_counted_from_the_day_that_the_order_counted_for",
    ],
    "P8 spares are never fitted in silence": [
        f"{BOOKINGS}/test_closing_asks.py::test_p8_spares_of_positions_that_nobody_looked_at_are_never_counted_as_fitted",
    ],
    "P9 one tube for the jobs of a day (–)": [
        f"{STOCK}/test_opened_life.py::test_p9_three_jobs_of_one_day_open_one_tube",
    ],
    "P10 goods between branches are seen": [
        f"{BUYING}/test_buying_for_all.py::test_p10_a_transfer_on_its_way_is_counted_and_promised_when_it_arrives",
    ],
    "P11 each booking at its own date": [
        f"{BUYING}/test_buying_for_all.py::test_p11_each_booking_is_judged_at_its_own_date",
    ],
    "P12 one order of a supplier (–)": [
        f"{BUYING}/test_purchase.py::test_p12_a_part_with_lead_days_of_its_own_stays_in_the_order_of_its_supplier",
    ],
    "P13 levels count what may be fitted (–)": [
        "services/advice/test_completion.py::test_levels_count_only_what_is_certain_to_be_fit_for_use",
    ],
    "P14 another currency stops nothing (–)": [
        f"{BUYING}/test_currencies.py::test_p14_an_offer_in_another_currency_is_not_compared_and_told",
        f"{BUYING}/test_tax.py::test_p14_tax_is_told_as_it_is_stated",
    ],
    "P16 a count below what is promised": [
        f"{STOCK}/test_missing.py::test_the_booking_that_fits_last_gives_its_ring_up_and_is_named",
    ],
    "P17 cut-offs by the supplier's own clock (–)": [
        "calc/purchasing/test_clocks.py::test_p17_a_cut_off_is_by_the_suppliers_clock_and_the_minutes_are_real",
        f"{BUYING}/test_terms.py::test_p17_a_supplier_abroad_is_ordered_from_by_its_own_clock",
    ],
    "P18 the giver is told": [
        f"{BOOKINGS}/test_changing.py::test_p18_the_giver_of_a_promise_is_told_that_it_is_not_confirmed_any_more",
    ],
    "P19 closed days, cores, arrivals": [
        f"{BOOKINGS}/test_closed_days.py::test_p19_a_closed_day_is_told_and_not_forbidden",
        f"{BUYING}/test_goods_in.py::test_p19_the_total_of_an_order_has_its_cores_and_falls_by_what_is_lost",
        f"{BUYING}/test_buying_for_all.py::test_p19_goods_do_not_arrive_before_they_were_sent",
    ],
    # Events of workshop life
    "a job added or dropped; further work on the ramp": [
        f"{BOOKINGS}/test_changing.py::test_event_a_job_is_added_and_shared_seals_are_counted_once",
        f"{BOOKINGS}/test_changing.py::test_event_a_job_is_dropped_before_the_ramp_and_its_parts_go_back_to_their_shelf",
        f"{BOOKINGS}/test_changing.py::test_event_further_work_on_the_ramp_takes_what_is_free_and_the_kit_stays",
    ],
    "ordered for the shelf or by choice; over the counter": [
        f"{BUYING}/test_orders_by_hand.py::test_what_is_for_the_shelf_is_free_until_a_booking_asks",
        f"{BUYING}/test_counter.py::test_it_is_ordered_paid_received_and_in_the_kit_at_once",
    ],
    "moved to another date or branch": [
        f"{BOOKINGS}/test_changing.py::test_event_moved_to_a_later_date_what_expires_gives_way",
        f"{BOOKINGS}/test_changing.py::test_event_moved_to_another_branch",
    ],
    "one more, lost, wrong, put back, lent, split": [
        f"{BOOKINGS}/test_kit_moves.py::test_a_lost_seal_is_written_off_with_its_reason_and_one_more_is_drawn",
        f"{BOOKINGS}/test_kit_moves.py::test_a_sheared_bolt_is_drawn_beyond_the_plan_with_its_reason",
        f"{BOOKINGS}/test_kit_moves.py::test_the_wrong_packet_goes_back_and_another_lot_comes",
        f"{BOOKINGS}/test_kit_moves.py::test_paste_is_exchanged_for_another_lot_and_not_for_another_tube_of_it",
        f"{BOOKINGS}/test_kit_moves.py::test_a_kit_lends_pieces_with_their_lots_and_recall_follows",
        f"{BOOKINGS}/test_set_aside.py::test_split_a_kit_puts_bags_on_trays_that_labels_and_pick_list_name",
    ],
    "a stripped car waits with its kit": [
        f"{BOOKINGS}/test_set_aside.py::test_a_stripped_car_is_set_aside_with_its_kit_and_listed_so",
    ],
    "the supplier announces a new date; overdue": [
        f"{BUYING}/test_announcements.py::test_the_new_date_holds_and_the_one_of_before_stays_on_record",
        f"{BUYING}/test_announcements.py::test_what_is_due_and_not_here_is_overdue",
    ],
    "a receipt or a close corrected": [
        f"{BUYING}/test_receipt_corrections.py::test_it_is_as_if_it_had_not_come_and_both_entries_stay",
        f"{BOOKINGS}/test_closing_asks.py::test_correct_a_close_puts_right_everything_that_a_close_can_say",
    ],
    "the wrong variant found on the ramp (–)": [
        f"{BOOKINGS}/test_changing_kits.py::test_event_the_wrong_variant_is_found_on_the_ramp",
    ],
    "recall; transfers in part or lost; counts that differ": [
        f"{BOOKINGS}/test_kit_moves.py::test_what_was_lost_is_named_by_a_recall_and_is_in_no_car",
        f"{STOCK}/test_shelves.py::test_what_is_sent_is_on_neither_shelf_until_it_arrives_once",
        f"{STOCK}/test_missing.py::test_nothing_is_given_up_while_there_is_enough",
    ],
    "return, credit note, core, warranty": [
        f"{BUYING}/test_claims.py::test_what_is_sent_back_leaves_its_lot_and_the_restocking_share_is_kept",
        f"{BUYING}/test_claims.py::test_a_core_is_handed_in_and_refunded_once_for_each_part",
        f"{BUYING}/test_claims.py::test_a_warranty_claim_names_the_lot_and_the_car",
    ],
    "more came than was ordered: kept, or sent back (–)": [
        f"{BUYING}/test_kept_goods.py::test_it_is_charged_as_ordered_and_free_for_who_lacks_it",
        f"{BUYING}/test_kept_goods.py::test_what_goes_back_of_it_is_none_of_what_was_ordered",
    ],
    "a substitute delivered (–)": [
        f"{BUYING}/test_substitutes.py::test_an_alternative_is_taken_over_with_its_verdict",
        f"{BUYING}/test_substitutes.py::test_where_it_would_be_no_nothing_is_taken_in",
    ],
    "the customer's own part": [
        f"{BOOKINGS}/test_customer_parts.py::test_what_of_it_is_left_is_promised_to_no_other",
    ],
    "which day, before there is a booking (–)": [
        f"{BUYING}/test_before_a_booking.py::test_the_answer_before_a_booking_is_the_one_after_it",
    ],
    "a new customer's car (–)": [
        "services/cars/test_cars.py::test_a_new_car_tells_what_is_unknown_and_what_that_leaves_open",
    ],
    "time of day, ramps, technicians; agreed price (–)": [
        f"{BOOKINGS}/test_ramps.py::test_a_booking_takes_time_ramp_and_people_and_what_does_not_fit_is_told_at_making_it",
        f"{BOOKINGS}/test_ramps.py::test_a_price_is_kept_and_what_is_open_is_told",
    ],
    "what slips today (–)": [
        "services/day/test_today.py::test_what_slips_first_is_at_the_top",
    ],
    "fewer keys": ["cli/test_keystrokes.py::test_what_was_to_be_halved_is"],
    "all of it, for days, with books beside it": [
        "month/test_month.py::test_after_every_evening_the_books_agree",
    ],
}  # fmt: skip
# Points without a test of their own that is known here.
NOT_YET: dict[str, str] = {}


@pytest.mark.parametrize("point", SHOWN)
def test_each_point_is_shown_by_tests_that_are_there(point: str) -> None:
    for name in SHOWN[point]:
        file, _, test = name.partition("::")
        text = (TESTS / file).read_text(encoding="utf-8")
        assert re.search(rf"^def {test}\(", text, re.MULTILINE), name


def test_every_number_is_in_one_of_the_two_lists() -> None:
    numbers = {point.split()[0] for point in SHOWN if re.match(r"P\d+ ", point)}
    assert numbers | set(NOT_YET) == {f"P{number}" for number in range(1, 20)}
    assert not numbers & set(NOT_YET)
