//! Published instances whose optima are known.

use std::path::PathBuf;

use crate::calc::turnaround::{Budget, Problem, solve, validate};

#[path = "../../../../tests/bench/instances.rs"]
mod instances;

/// **Source** ft06, optimum 55: Fisher and Thompson 1963.
const FT06: &str = "6 6
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
";

#[test]
fn the_job_shop_of_1963_takes_55() {
    let problem: Problem = serde_json::from_value(instances::job_shop(FT06)).expect("a problem");
    let answer = solve(&problem, Budget::steps(1_000_000)).expect("no fault");
    assert_eq!(validate(&problem, &answer), Vec::<String>::new());
    assert_eq!(
        (answer.finish, answer.finish_bound, answer.proven),
        (55, 55, true)
    );
}

#[test]
fn no_bound_contradicts_what_is_known_of_published_instances() {
    let Some(folder) = std::env::var_os("LINKOUT_CHECK").map(PathBuf::from) else {
        println!("skipped: LINKOUT_CHECK does not name the folder of reference cases");
        return;
    };
    let mut all = instances::job_shops(&folder);
    for set in ["j30", "j60", "j120"] {
        all.extend(instances::psplib(&folder, set));
    }
    for one in all {
        let problem: Problem = serde_json::from_value(one.problem).expect("a problem");
        let answer = solve(&problem, Budget::steps(2_000)).expect("no fault");
        assert_eq!(
            validate(&problem, &answer),
            Vec::<String>::new(),
            "{}",
            one.name
        );
        let (low, high) = one.known;
        assert!(
            answer.finish >= low,
            "{}: {} is below {low}",
            one.name,
            answer.finish
        );
        assert!(
            answer.finish_bound <= high,
            "{}: bound {} is above {high}",
            one.name,
            answer.finish_bound
        );
    }
}
