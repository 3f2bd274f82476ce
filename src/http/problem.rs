//! Problem documents (RFC 9457): the one catalogue of what can go wrong, and how it is written.

use crate::app::{AppError, stale::Difference};
use crate::calc::fault::Fault;
use actix_web::{
    HttpResponse, ResponseError,
    http::{StatusCode, header},
};
use serde::Serialize;
use std::{fmt, sync::Arc};
use utoipa::ToSchema;

macro_rules! kinds {
    ($($(#[$doc:meta])* $variant:ident = $slug:literal, $status:ident, $title:literal, $advice:literal;)*) => {
        /// A kind of problem.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum ProblemKind { $($(#[$doc])* $variant,)* }

        impl ProblemKind {
            /// Every kind.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The last part of its address: `/problems/<slug>`.
            pub fn slug(self) -> &'static str {
                match self { $(Self::$variant => $slug,)* }
            }

            /// Its status.
            pub fn status(self) -> StatusCode {
                match self { $(Self::$variant => StatusCode::$status,)* }
            }

            /// What it is called.
            pub fn title(self) -> &'static str {
                match self { $(Self::$variant => $title,)* }
            }

            /// What to do about it.
            pub fn advice(self) -> &'static str {
                match self { $(Self::$variant => $advice,)* }
            }
        }
    };
}

kinds! {
    /// The request could not be read.
    Malformed = "malformed", BAD_REQUEST, "The request could not be read",
        "Put right what the list of errors names. Sending the same again gives the same answer.";
    /// Nobody is signed in.
    SignInNeeded = "sign-in-needed", UNAUTHORIZED, "Nobody is signed in",
        "Sign in or join again. What waits in the phone to be sent is kept and goes out as the same person.";
    /// Not allowed.
    NotAllowed = "not-allowed", FORBIDDEN, "Not allowed",
        "Somebody with another role can do this: the answer says who.";
    /// A form sent from another site.
    OtherSite = "other-site", FORBIDDEN, "Sent from another site",
        "Open the page of this event itself and send the form from there.";
    /// Nothing there.
    Unknown = "unknown", NOT_FOUND, "There is nothing here",
        "Look at the address. Things of another team are not shown either.";
    /// Not this method.
    WrongMethod = "wrong-method", METHOD_NOT_ALLOWED, "Not with this method",
        "The header Allow names the methods this address takes.";
    /// In the way of something.
    Conflict = "conflict", CONFLICT, "Something stands in the way",
        "An id or a name is taken by something else. Choose another.";
    /// Changed in between.
    Stale = "stale", PRECONDITION_FAILED, "It was changed in between",
        "Read it again, look at what changed, and send your change based on the new revision.";
    /// Too large.
    TooLarge = "too-large", PAYLOAD_TOO_LARGE, "The body is too large",
        "Send less at once: the answer says how much is taken.";
    /// A body of another form.
    WrongForm = "wrong-form", UNSUPPORTED_MEDIA_TYPE, "The body is in another form",
        "Send application/json.";
    /// Against a rule.
    Refused = "refused", UNPROCESSABLE_ENTITY, "The request is against a rule",
        "Put right what the list of errors names: each has a pointer to the field and what is accepted there.";
    /// The revision is missing.
    RevisionNeeded = "revision-needed", PRECONDITION_REQUIRED, "The revision is missing",
        "Send If-Match with the ETag of the version your change is based on, or If-None-Match: * for a new thing.";
    /// Too often.
    TooOften = "too-often", TOO_MANY_REQUESTS, "Too often",
        "Wait as long as the header Retry-After says.";
    /// A fault of linkout.
    Bug = "bug", INTERNAL_SERVER_ERROR, "A fault in linkout itself",
        "Nothing of this request was recorded. Tell whoever runs the service the request id.";
    /// Not at the moment.
    Unavailable = "unavailable", SERVICE_UNAVAILABLE, "Not available at the moment",
        "Nothing of this request was recorded. It may be sent again after the time in the header Retry-After.";
}

impl ProblemKind {
    /// The address of the page about it.
    pub fn address(self) -> String {
        format!("/problems/{}", self.slug())
    }

    /// The kind with this slug.
    pub fn named(slug: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.slug() == slug)
    }
}

/// The published form of a problem.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ProblemDocument {
    /// Address of the page about this kind of problem, on this host.
    #[serde(rename = "type")]
    #[schema(example = "/problems/refused")]
    pub address: String,
    /// What it is called.
    pub title: String,
    /// The status of the answer.
    #[schema(minimum = 400, maximum = 599)]
    pub status: u16,
    /// What is wrong this time.
    pub detail: String,
    /// The id of this request.
    #[schema(example = "/requests/0197a3c2-7d1e-7c3a-9b1f-3f0a5b1c2d4e")]
    pub instance: String,
    /// Each thing that is wrong, with the place in the request.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub errors: Vec<Fault>,
    /// The last revision, where a stale one was sent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_revision: Option<i64>,
    /// What changed since the revision that was sent.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub changes: Vec<ChangedField>,
}

/// A field that is not as it was in the revision a change was based on.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ChangedField {
    /// Where in the body.
    #[schema(example = "/permitted_fill_g")]
    pub pointer: String,
    /// As in the revision the change was based on, or as sent if that is no revision of the thing;
    /// missing if it was not there.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Value, required = false)]
    pub was: Option<serde_json::Value>,
    /// As in the last revision; missing if it is not there any more.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Value, required = false)]
    pub now: Option<serde_json::Value>,
}

impl From<Difference> for ChangedField {
    fn from(difference: Difference) -> Self {
        Self {
            pointer: difference.pointer,
            was: difference.was,
            now: difference.now,
        }
    }
}

/// What stands in the place of what somebody knew.
#[derive(Debug, Clone)]
pub struct Stands {
    /// The last revision; none if there is no such thing.
    pub revision: Option<i64>,
    /// What changed since the revision that was sent.
    pub changes: Vec<ChangedField>,
}

/// A problem on its way to whoever asked.
#[derive(Debug, Clone)]
pub struct Problem {
    /// Its kind.
    pub kind: ProblemKind,
    /// What is wrong this time.
    pub detail: String,
    /// Each thing that is wrong.
    pub errors: Vec<Fault>,
    /// What stands, where a stale revision was sent.
    pub stands: Option<Box<Stands>>,
    /// When it makes sense to ask again.
    pub retry_after_s: Option<u32>,
    /// Methods the address takes, for the header Allow.
    pub allow: Option<String>,
    /// Why, for the log alone.
    pub cause: Option<Arc<dyn std::error::Error + Send + Sync>>,
}

impl Problem {
    /// A problem of this kind.
    pub fn new(kind: ProblemKind, detail: impl Into<String>) -> Self {
        Self {
            kind,
            detail: detail.into(),
            errors: Vec::new(),
            stands: None,
            retry_after_s: None,
            allow: None,
            cause: None,
        }
    }

    /// A problem with a fault at a place in the request.
    pub fn at(kind: ProblemKind, pointer: &str, detail: impl Into<String>) -> Self {
        let detail = detail.into();
        Self {
            errors: vec![Fault::new(pointer, detail.clone())],
            ..Self::new(kind, detail)
        }
    }

    /// The document, for the request named `instance`.
    pub fn document(&self, instance: String) -> ProblemDocument {
        ProblemDocument {
            address: self.kind.address(),
            title: self.kind.title().to_owned(),
            status: self.kind.status().as_u16(),
            detail: self.detail.clone(),
            instance,
            errors: self.errors.clone(),
            current_revision: self.stands.as_ref().and_then(|stands| stands.revision),
            changes: match &self.stands {
                Some(stands) => stands.changes.clone(),
                None => Vec::new(),
            },
        }
    }

    fn with_faults(kind: ProblemKind, errors: Vec<Fault>) -> Self {
        let detail = match errors.as_slice() {
            [] => kind.title().to_owned(),
            [one] => one.detail.clone(),
            [one, rest @ ..] => format!("{} And {} more.", one.detail, rest.len()),
        };
        Self {
            errors,
            ..Self::new(kind, detail)
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.kind.slug(), self.detail)
    }
}

impl From<AppError> for Problem {
    fn from(error: AppError) -> Self {
        match error {
            AppError::Refused(faults) => Self::with_faults(ProblemKind::Refused, faults),
            AppError::Malformed(faults) => Self::with_faults(ProblemKind::Malformed, faults),
            AppError::Unknown => Self::new(
                ProblemKind::Unknown,
                "Nothing with this address is yours to see.",
            ),
            AppError::Stale { current, changes } => Self {
                stands: Some(Box::new(Stands {
                    revision: current,
                    changes: changes.into_iter().map(ChangedField::from).collect(),
                })),
                ..Self::new(
                    ProblemKind::Stale,
                    match current {
                        Some(current) => format!("The last revision is {current}."),
                        None => "It does not exist.".to_owned(),
                    },
                )
            },
            AppError::Conflict { detail } => Self::new(ProblemKind::Conflict, detail),
            AppError::Forbidden { detail } => Self::new(ProblemKind::NotAllowed, detail),
            AppError::Unauthenticated => Self::new(
                ProblemKind::SignInNeeded,
                "There is no token, or it no longer counts.",
            ),
            AppError::TooMany { retry_after_s } => Self {
                retry_after_s: Some(retry_after_s),
                ..Self::new(
                    ProblemKind::TooOften,
                    format!("Try again in {retry_after_s} s."),
                )
            },
            AppError::Unavailable {
                retry_after_s,
                cause,
            } => Self {
                retry_after_s: Some(retry_after_s),
                cause: cause.map(Arc::from),
                ..Self::new(
                    ProblemKind::Unavailable,
                    format!("Nothing was recorded. Try again in {retry_after_s} s."),
                )
            },
            AppError::Bug(cause) => Self {
                cause: Some(Arc::from(cause)),
                ..Self::new(ProblemKind::Bug, "Nothing of this request was recorded.")
            },
        }
    }
}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        self.kind.status()
    }

    /// An answer without a body: the outermost layer knows the request's id and whether a page or
    /// a document is wanted, and writes it from the problem that goes along.
    fn error_response(&self) -> HttpResponse {
        let mut answer = HttpResponse::build(self.kind.status());
        if let Some(seconds) = self.retry_after_s {
            answer.insert_header((header::RETRY_AFTER, seconds.to_string()));
        }
        if let Some(allow) = &self.allow {
            answer.insert_header((header::ALLOW, allow.as_str()));
        }
        if self.kind == ProblemKind::SignInNeeded {
            answer.insert_header((header::WWW_AUTHENTICATE, "Bearer realm=\"linkout\""));
        }
        let mut answer = answer.finish();
        answer.extensions_mut().insert(self.clone());
        answer
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_kind_has_an_address_of_its_own_and_an_error_status() {
        let slugs: BTreeSet<&str> = ProblemKind::ALL.iter().map(|kind| kind.slug()).collect();
        assert_eq!(slugs.len(), ProblemKind::ALL.len());
        for kind in ProblemKind::ALL {
            assert_eq!(ProblemKind::named(kind.slug()), Some(*kind));
            assert!(kind.status().is_client_error() || kind.status().is_server_error());
        }
    }
}
