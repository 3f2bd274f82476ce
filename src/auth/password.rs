//! Passwords, kept as argon2id hashes.
//!
//! Hashing takes tens of milliseconds of a processor on purpose: callers run it where blocking is
//! allowed.
//!
//! **Source** RFC 9106; parameters 19 MiB, two passes, one lane, the library's defaults.

use argon2::{Argon2, Params, PasswordHash, PasswordHasher as _, PasswordVerifier as _};
use std::sync::LazyLock;

/// Fewest characters of a password. **Source** NIST SP 800-63B, 5.1.1.2: length before all else.
pub const MIN: usize = 10;
/// Most characters of a password.
pub const MAX: usize = 200;

/// The hash of no password, so that an unknown login takes the work of a wrong password.
static NOBODY: LazyLock<String> = LazyLock::new(|| {
    Argon2::default()
        .hash_password(b"nobody signs in with this")
        .map(|hash| hash.to_string())
        .unwrap_or_default()
});

/// The hash of `password`, as text in the PHC form.
///
/// # Errors
/// The library cannot hash, which has no cause outside this program.
pub fn hash(password: &str) -> Result<String, argon2::password_hash::Error> {
    Argon2::default()
        .hash_password(password.as_bytes())
        .map(|hash| hash.to_string())
}

/// What came of a check, and the work it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Checked {
    /// Whether the password is the one hashed.
    pub right: bool,
    /// Memory filled by all passes, in KiB; none if what is kept is no hash.
    pub work_kib: u64,
}

/// Compares `password` with the one hashed. Without a hash the answer is no, after the same work.
pub fn check(hash: Option<&str>, password: &str) -> Checked {
    let Ok(kept) = PasswordHash::new(hash.unwrap_or(&NOBODY)) else {
        return Checked {
            right: false,
            work_kib: 0,
        };
    };
    let same = Argon2::default().verify_password(password.as_bytes(), &kept);
    let work = Params::try_from(&kept)
        .map(|params| u64::from(params.m_cost()) * u64::from(params.t_cost()));
    Checked {
        right: same.is_ok() && hash.is_some(),
        work_kib: work.unwrap_or(0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_password_that_was_hashed_is_right() {
        let kept = hash("correct horse").unwrap();
        assert!(kept.starts_with("$argon2id$"), "{kept}");
        assert!(check(Some(&kept), "correct horse").right);
        assert!(!check(Some(&kept), "correct house").right);
        assert!(!check(None, "nobody signs in with this").right);
        assert!(!check(Some("not a hash"), "correct horse").right);
    }

    #[test]
    fn an_unknown_login_costs_the_same_hash() {
        let known = check(Some(&hash("correct horse").unwrap()), "correct house");
        assert_eq!(known, check(None, "correct house"));
        // RFC 9106 as OWASP's password storage cheat sheet has it: 19 MiB, two passes.
        assert_eq!(known.work_kib, 2 * 19 * 1024);
    }
}
