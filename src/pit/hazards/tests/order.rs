//! The order in which lines arrive, and lines that arrive twice, make no difference to hazards.

use super::cases::every_case;
use super::*;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn hazards_do_not_depend_on_the_order_of_arrival(
        which in any::<prop::sample::Index>(),
        keys in prop::collection::vec(any::<u64>(), 40),
        twice in any::<prop::sample::Index>(),
    ) {
        let cases = every_case();
        let case = &cases[which.index(cases.len())];
        let mut arrived: Vec<(u64, &Line)> = case
            .lines
            .iter()
            .enumerate()
            .map(|(n, line)| (keys[n % keys.len()].wrapping_add(n as u64), line))
            .collect();
        arrived.sort_by_key(|(key, _)| *key);
        let mut shuffled: Vec<Line> = arrived.into_iter().map(|(_, line)| line.clone()).collect();
        let again = shuffled[twice.index(shuffled.len())].clone();
        shuffled.push(again);

        let now = start() + TimeDelta::seconds(case.at_s);
        let in_order = hazards(&Pit::fold(&case.lines), ROBOT, &case.work, now);
        let mut pit = Pit::default();
        for line in &shuffled {
            pit = pit.with(line);
        }
        prop_assert_eq!(in_order, hazards(&pit, ROBOT, &case.work, now), "{}, {}", case.rule, case.what);
    }
}
