//! How often somebody may try to sign in, or to speak for somebody by their PIN.

use crate::pit::ids::PersonId;
use governor::{
    DefaultKeyedRateLimiter, Quota, RateLimiter,
    clock::{Clock as _, DefaultClock},
};
use std::{hash::Hash, net::IpAddr, num::NonZeroU32, time::Duration};

/// Counts tries, and says how long to wait when there were too many.
pub struct Throttle {
    logins: DefaultKeyedRateLimiter<String>,
    addresses: DefaultKeyedRateLimiter<IpAddr>,
    joins: DefaultKeyedRateLimiter<IpAddr>,
    pins: DefaultKeyedRateLimiter<PersonId>,
    clock: DefaultClock,
}

/// So many at once, and one more each `period`.
fn quota(burst: u32, period: Duration) -> Quota {
    let burst = NonZeroU32::new(burst).unwrap_or(NonZeroU32::MIN);
    Quota::with_period(period)
        .unwrap_or_else(|| Quota::per_second(NonZeroU32::MIN))
        .allow_burst(burst)
}

impl Throttle {
    /// Nothing counted yet. Hundreds of phones of a hall may share one address, so the limits on
    /// an address are wide and the one on a login is narrow.
    pub fn new() -> Self {
        Self {
            logins: RateLimiter::keyed(quota(10, Duration::from_secs(6))),
            addresses: RateLimiter::keyed(quota(60, Duration::from_secs(1))),
            joins: RateLimiter::keyed(quota(600, Duration::from_millis(100))),
            // Ten thousand PINs of four digits take longer than an event at this rate.
            pins: RateLimiter::keyed(quota(10, Duration::from_secs(30))),
            clock: DefaultClock::default(),
        }
    }

    /// Counts a try to sign in as `login` from `address`.
    ///
    /// # Errors
    /// Seconds until the next try counts.
    pub fn sign_in(&self, login: &str, address: IpAddr) -> Result<(), u32> {
        self.count(&self.addresses, &address)?;
        self.count(&self.logins, &login.to_lowercase())
    }

    /// Counts a try to join from `address`.
    ///
    /// # Errors
    /// Seconds until the next try counts.
    pub fn join(&self, address: IpAddr) -> Result<(), u32> {
        self.count(&self.joins, &address)
    }

    /// Counts a PIN typed for `person`, whatever phone it is typed on.
    ///
    /// # Errors
    /// Seconds until the next try counts.
    pub fn pin(&self, person: PersonId) -> Result<(), u32> {
        self.count(&self.pins, &person)
    }

    /// Forgets what no longer matters.
    pub fn tidy(&self) {
        self.logins.retain_recent();
        self.addresses.retain_recent();
        self.joins.retain_recent();
        self.pins.retain_recent();
    }

    fn count<K: Clone + Eq + Hash>(
        &self,
        counted: &DefaultKeyedRateLimiter<K>,
        key: &K,
    ) -> Result<(), u32> {
        counted.check_key(key).map_err(|not_until| {
            let wait = not_until.wait_time_from(self.clock.now());
            u32::try_from(wait.as_secs())
                .unwrap_or(u32::MAX)
                .saturating_add(1)
        })
    }
}

impl Default for Throttle {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn guessing_at_one_login_is_slowed_down_and_others_are_not() {
        let throttle = Throttle::new();
        let address = IpAddr::from([127, 0, 0, 1]);
        let refused = (0..30)
            .find_map(|_| throttle.sign_in("ana", address).err())
            .expect("thirty tries at once are too many");
        assert!((1..=7).contains(&refused), "{refused}");
        assert!(
            throttle.sign_in("ANA", address).is_err(),
            "case makes no difference"
        );
        assert!(throttle.sign_in("ben", address).is_ok());
    }
}
