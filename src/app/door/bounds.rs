//! What the form of a line cannot say by itself: years that an event can have to do
//! with.

use crate::calc::fault::Faults;
use crate::pit::logbook::{Body, Draft};
use chrono::{DateTime, Datelike as _, NaiveDate, Utc};

/// Moments and days that are kept, which is about what an event has to do with.
fn years(year: i32) -> bool {
    (1990..2200).contains(&year)
}

/// What the form of a body cannot say by itself.
pub fn check(draft: &Draft, at: &str, faults: &mut Faults) {
    let mut moment = |pointer: String, moment: DateTime<Utc>| {
        if !years(moment.year()) {
            faults.add(pointer, "The year is not from 1990 to 2199.");
        }
    };
    moment(format!("{at}/at"), draft.at);
    match &draft.body {
        Body::RegisterBout(bout) => moment(format!("{at}/body/call_at"), bout.call_at),
        Body::RegisterPerson(person) => {
            for (index, away) in person.away.iter().enumerate() {
                moment(format!("{at}/body/away/{index}/from"), away.from);
                moment(format!("{at}/body/away/{index}/to"), away.to);
            }
        }
        Body::RegisterEvent(event) => {
            for (name, day) in [("first_day", event.first_day), ("last_day", event.last_day)] {
                check_day(format!("{at}/body/{name}"), day, faults);
            }
        }
        Body::RegisterBottle(bottle) => {
            for (name, day) in [
                ("tested_on", bottle.tested_on),
                ("test_due", bottle.test_due),
            ] {
                if let Some(day) = day {
                    check_day(format!("{at}/body/{name}"), day, faults);
                }
            }
        }
        Body::RegisterSupply(supply) => {
            if let Some(day) = supply.tested_on {
                check_day(format!("{at}/body/tested_on"), day, faults);
            }
        }
        _ => {}
    }
}

fn check_day(pointer: String, day: NaiveDate, faults: &mut Faults) {
    if !years(day.year()) {
        faults.add(pointer, "The year is not from 1990 to 2199.");
    }
}
