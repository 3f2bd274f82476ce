//! Reading what comes in: bodies in JSON, strictly, with every fault named.

use super::problem::{Problem, ProblemKind};
use crate::app::AppError;
use crate::app::photos::MOST_TAKEN;
use crate::calc::{fault::Faults, strict};
use actix_multipart::{MultipartError, form::MultipartFormConfig};
use actix_web::{
    FromRequest, HttpMessage as _, HttpRequest,
    dev::Payload,
    error::{PathError, PayloadError, QueryPayloadError, UrlencodedError},
    web,
};
use futures_util::future::LocalBoxFuture;
use serde::de::DeserializeOwned;
use serde_json::Value;
use utoipa::PartialSchema;

/// Most bytes of a body.
pub const MOST_BYTES: usize = 1 << 20;

/// A JSON body of the published form `T`.
#[derive(Debug)]
pub struct Document<T>(pub T);

impl<T: DeserializeOwned + PartialSchema + 'static> FromRequest for Document<T> {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let value = JsonValue::from_request(request, payload);
        Box::pin(async move {
            let JsonValue(value) = value.await?;
            let read = strict::read(&value, "").map_err(AppError::Refused)?;
            Ok(Self(read))
        })
    }
}

/// Any JSON body without text that cannot be kept.
#[derive(Debug)]
pub struct JsonValue(pub Value);

impl FromRequest for JsonValue {
    type Error = Problem;
    type Future = LocalBoxFuture<'static, Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let is_json = matches!(
            request.mime_type(),
            Ok(Some(mime)) if mime.essence_str() == "application/json"
                || mime.suffix().is_some_and(|suffix| suffix == "json")
        );
        let bytes = web::Bytes::from_request(request, payload);
        Box::pin(async move {
            if !is_json {
                return Err(Problem::new(
                    ProblemKind::WrongForm,
                    "The header Content-Type has to be application/json.",
                ));
            }
            let bytes = bytes
                .await
                .map_err(|error| match error.as_error::<PayloadError>() {
                    Some(PayloadError::Overflow) => too_large(),
                    _ => Problem::at(ProblemKind::Malformed, "", "The body ended early."),
                })?;
            read_json(&bytes).map(Self)
        })
    }
}

fn too_large() -> Problem {
    Problem::new(
        ProblemKind::TooLarge,
        format!("A body has at most {MOST_BYTES} bytes."),
    )
}

fn read_json(bytes: &[u8]) -> Result<Value, Problem> {
    let value: Value = serde_json::from_slice(bytes).map_err(|error| {
        Problem::at(
            ProblemKind::Malformed,
            "",
            format!(
                "This is not JSON: line {}, column {}.",
                error.line(),
                error.column()
            ),
        )
    })?;
    let mut faults = Faults::none();
    refuse_nul(&value, "", &mut faults);
    faults.check().map_err(AppError::Refused)?;
    Ok(value)
}

/// PostgreSQL keeps any character but U+0000, and no text that people write has one.
fn refuse_nul(value: &Value, pointer: &str, faults: &mut Faults) {
    const DETAIL: &str = "The character U+0000 is not accepted.";
    match value {
        Value::String(text) if text.contains('\0') => faults.add(pointer, DETAIL),
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                refuse_nul(item, &format!("{pointer}/{index}"), faults);
            }
        }
        Value::Object(members) => {
            for (name, member) in members {
                if name.contains('\0') {
                    faults.add(pointer, DETAIL);
                }
                refuse_nul(
                    member,
                    &format!("{pointer}/{}", strict::escape(name)),
                    faults,
                );
            }
        }
        _ => {}
    }
}

/// An id in an address that cannot be one names nothing.
pub fn path_config() -> web::PathConfig {
    web::PathConfig::default().error_handler(|error, _| {
        let _: &PathError = &error;
        Problem::new(ProblemKind::Unknown, "Nothing has this address.").into()
    })
}

/// A query that cannot be read.
pub fn query_config() -> web::QueryConfig {
    web::QueryConfig::default().error_handler(|error, _| {
        let detail = match &error {
            QueryPayloadError::Deserialize(cause) => cause.to_string(),
            other => other.to_string(),
        };
        Problem::at(
            ProblemKind::Malformed,
            "",
            format!("In the query: {detail}."),
        )
        .into()
    })
}

/// A form that cannot be read.
pub fn form_config() -> web::FormConfig {
    web::FormConfig::default()
        .limit(MOST_BYTES)
        .error_handler(|error, _| {
            match error {
                UrlencodedError::Overflow { .. } => too_large(),
                UrlencodedError::ContentType => Problem::new(
                    ProblemKind::WrongForm,
                    "A form is sent as application/x-www-form-urlencoded.",
                ),
                other => Problem::at(ProblemKind::Malformed, "", format!("In the form: {other}.")),
            }
            .into()
        })
}

/// A picture of more bytes than are taken.
pub fn picture_too_large() -> Problem {
    let most = MOST_TAKEN / (1024 * 1024);
    Problem::new(
        ProblemKind::TooLarge,
        format!("A picture has at most {most} MiB."),
    )
}

/// A form with a picture that cannot be read.
pub fn picture_config() -> MultipartFormConfig {
    MultipartFormConfig::default()
        .total_limit(MOST_TAKEN + 64 * 1024)
        .memory_limit(MOST_TAKEN + 64 * 1024)
        .error_handler(|error, _| {
            match error {
                MultipartError::Payload(PayloadError::Overflow) => picture_too_large(),
                other => Problem::at(ProblemKind::Malformed, "", format!("In the form: {other}.")),
            }
            .into()
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_that_cannot_be_kept_is_refused_wherever_it_is() {
        let problem = read_json(br#"{"a":["x","y\u0000"],"b":{"c/d":"\u0000"}}"#).unwrap_err();
        let pointers: Vec<&str> = problem.errors.iter().map(|f| f.pointer.as_str()).collect();
        assert_eq!(pointers, ["/a/1", "/b/c~1d"]);
        assert_eq!(problem.kind, ProblemKind::Refused);
        assert!(read_json(br#"{"a":"\u0001"}"#).is_ok());
    }

    #[test]
    fn what_is_not_json_is_said_with_its_place() {
        let deep = "[".repeat(100_000);
        for bad in ["", "{", "{\"a\":}", "\u{feff}{}", &deep, "NaN"] {
            let problem = read_json(bad.as_bytes()).unwrap_err();
            assert_eq!(problem.kind, ProblemKind::Malformed);
        }
        assert!(read_json(b"\xff").is_err());
    }
}
