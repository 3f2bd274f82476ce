//! PINs: a few digits by which a second person enters something under their own name on a phone
//! that is somebody else's. They are kept as passwords are.

/// Fewest digits.
pub const MIN: usize = 4;
/// Most digits.
pub const MAX: usize = 8;

/// Whether `typed` is a PIN: digits alone, from [`MIN`] to [`MAX`] of them.
pub fn is_pin(typed: &str) -> bool {
    (MIN..=MAX).contains(&typed.len()) && typed.bytes().all(|byte| byte.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_is_four_to_eight_digits() {
        for (typed, so) in [
            ("0000", true),
            ("12345678", true),
            ("123", false),
            ("123456789", false),
            ("12 34", false),
            ("१२३४", false),
            ("", false),
        ] {
            assert_eq!(is_pin(typed), so, "{typed}");
        }
    }
}
