//! A line as it comes in from a phone whose clock may be wrong.

use chrono::{DateTime, TimeDelta, Utc};

use crate::pit::logbook::{Author, Draft};
use crate::pit::settings::Settings;
use crate::store::logbook::Entry;

/// Takes a line in: keeps the time the phone claims, and works out the time by the server's clock.
///
/// `sent_at` is what the phone's clock said when it sent the request, so that its error is known.
/// Nothing is refused for its time: a line about safety counts even if the phone's clock is wrong.
///
/// **Assumptions** The request took no time, so `at` comes out late by as much as it took.
#[must_use]
pub fn receive(
    draft: Draft,
    sent_at: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
    entered_by: Author,
    settings: &Settings,
) -> Entry {
    let doubtful = TimeDelta::seconds(i64::from(settings.clock_doubtful_s.get()));
    let error = sent_at.map_or(TimeDelta::zero(), |sent_at| sent_at - now);
    let corrected = draft.at.checked_sub_signed(error).unwrap_or(now);
    Entry {
        at: corrected.min(now),
        clock_doubtful: error.abs() > doubtful || corrected - now > doubtful,
        recorded_at: now,
        entered_by,
        draft,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::ids::{LineId, Subject};
    use crate::pit::logbook::{Body, Role, hall};
    use uuid::Uuid;

    fn moment(second: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000 + second, 0).unwrap()
    }

    fn seen_at(second: i64) -> Draft {
        Draft {
            id: LineId(Uuid::from_u128(1)),
            at: moment(second),
            seen_by: None,
            subject: Subject::Event,
            how: None,
            corrects: None,
            if_revision: None,
            body: Body::EveryoneStop(hall::EveryoneStop {
                stop: true,
                note: None,
            }),
        }
    }

    #[test]
    fn the_phones_clock_is_corrected_and_never_ahead() {
        let author = Author {
            person: None,
            role: Role::Crew,
        };
        // Claimed, sent (by the phone's clock), received; corrected, doubtful above 30 s.
        for (claimed, sent, now, corrected, doubtful) in [
            (90, Some(100), 100, 90, false),
            (90, Some(100), 130, 120, false),
            (90, Some(100), 131, 121, true),
            (190, Some(200), 100, 90, true),
            (130, Some(100), 100, 100, false),
            (131, Some(100), 100, 100, true),
            (90, None, 100, 90, false),
            (500, None, 100, 100, true),
        ] {
            let entry = receive(
                seen_at(claimed),
                sent.map(moment),
                moment(now),
                author,
                &Settings::default(),
            );
            assert_eq!(entry.at, moment(corrected), "{claimed} {sent:?} {now}");
            assert_eq!(entry.clock_doubtful, doubtful, "{claimed} {sent:?} {now}");
            assert_eq!(entry.draft.at, moment(claimed));
        }
    }
}
