//! How operations are described: bodies, answers, who may ask, and the problems each can end in.

use super::{conditional, line_form};
use crate::http::problem::{ProblemDocument, ProblemKind};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use utoipa::openapi::{
    Content, ContentBuilder, KnownFormat, ObjectBuilder, OpenApi, Ref, RefOr, Required, Response,
    ResponseBuilder, SchemaFormat, Type,
    path::{Operation, OperationBuilder, Parameter, ParameterBuilder, ParameterIn},
    request_body::{RequestBody, RequestBodyBuilder},
    schema::{AdditionalProperties, Schema},
    security::SecurityRequirement,
};

/// A JSON body of the schema called `name`.
pub fn json_body(name: &str) -> RequestBody {
    RequestBodyBuilder::new()
        .content("application/json", of_schema(name))
        .required(Some(Required::True))
        .build()
}

/// A JSON answer of the schema called `name`.
pub fn json_answer(description: &str, name: &str) -> Response {
    ResponseBuilder::new()
        .description(description)
        .content("application/json", of_schema(name))
        .build()
}

fn of_schema(name: &str) -> Content {
    ContentBuilder::new()
        .schema(Some(RefOr::<Schema>::Ref(Ref::from_schema_name(name))))
        .build()
}

/// Text in a known format.
pub fn text(format: KnownFormat) -> Schema {
    ObjectBuilder::new()
        .schema_type(Type::String)
        .format(Some(SchemaFormat::KnownFormat(format)))
        .build()
        .into()
}

/// An id in an address.
pub fn id_parameter(name: &str, description: &str) -> Parameter {
    ParameterBuilder::new()
        .name(name)
        .parameter_in(ParameterIn::Path)
        .required(Required::True)
        .description(Some(description))
        .schema(Some(text(KnownFormat::Uuid)))
        .build()
}

/// The last word on an operation that is described by hand.
pub trait Described {
    /// For anyone.
    fn open(self) -> Operation;
    /// For whoever is signed in.
    fn signed(self) -> Operation;
}

impl Described for OperationBuilder {
    fn open(self) -> Operation {
        self.build()
    }

    fn signed(self) -> Operation {
        self.security(SecurityRequirement::new::<_, [&str; 0], &str>("token", []))
            .build()
    }
}

/// Problems of single operations, beyond those that follow from an operation's form.
const OWN: &[(&str, &[ProblemKind])] = &[
    (
        "sign_in",
        &[
            ProblemKind::SignInNeeded,
            ProblemKind::TooOften,
            ProblemKind::OtherSite,
        ],
    ),
    (
        "look_at_join_code",
        &[
            ProblemKind::SignInNeeded,
            ProblemKind::TooOften,
            ProblemKind::OtherSite,
        ],
    ),
    (
        "join_event",
        &[
            ProblemKind::SignInNeeded,
            ProblemKind::Unknown,
            ProblemKind::TooOften,
            ProblemKind::OtherSite,
        ],
    ),
    (
        "become_person",
        &[ProblemKind::Unknown, ProblemKind::TooOften],
    ),
    ("put_person_pin", &[ProblemKind::TooOften]),
    ("send_photo", &[ProblemKind::Conflict]),
    ("stream_changes", &[ProblemKind::Malformed]),
    ("list_events", &[ProblemKind::NotAllowed]),
    ("create_event", &[ProblemKind::Conflict, ProblemKind::Stale]),
    (
        "hand_in_lines",
        &[
            ProblemKind::Conflict,
            ProblemKind::Stale,
            ProblemKind::TooOften,
        ],
    ),
    ("get_board", &[ProblemKind::NotAllowed]),
    ("get_board_csv", &[ProblemKind::NotAllowed]),
    ("get_order", &[ProblemKind::NotAllowed]),
    ("change_order", &[ProblemKind::Stale, ProblemKind::Conflict]),
];

/// Whether an operation changes a registered thing, which needs its revision.
fn replaces(id: &str) -> bool {
    id.starts_with("put_") && id != "put_person_name"
}

/// Adds to every operation the problems it can end in, each as `application/problem+json` with an
/// example.
pub fn add_problems(document: &mut OpenApi) {
    for (address, item) in &mut document.paths.paths {
        let takes_id = address.contains('{');
        for (operation, changes) in [
            (&mut item.get, false),
            (&mut item.post, true),
            (&mut item.put, true),
            (&mut item.delete, true),
        ] {
            let Some(operation) = operation else { continue };
            let id = operation.operation_id.clone().unwrap_or_default();
            conditional::describe(operation);
            if id == "hand_in_lines" {
                line_form::add_examples(operation);
            }
            let mut kinds = vec![ProblemKind::Bug, ProblemKind::Unavailable];
            if operation.request_body.is_some() {
                kinds.extend([
                    ProblemKind::Malformed,
                    ProblemKind::TooLarge,
                    ProblemKind::WrongForm,
                    ProblemKind::Refused,
                ]);
            }
            if takes_id {
                kinds.push(ProblemKind::Unknown);
            }
            if operation.security.is_some() {
                kinds.push(ProblemKind::SignInNeeded);
                if changes {
                    kinds.push(ProblemKind::NotAllowed);
                }
            }
            if operation
                .parameters
                .iter()
                .flatten()
                .any(parameter_is_in_query)
            {
                kinds.push(ProblemKind::Malformed);
            }
            if replaces(&id) {
                kinds.extend([
                    ProblemKind::Stale,
                    ProblemKind::RevisionNeeded,
                    ProblemKind::Conflict,
                ]);
            }
            let own = OWN.iter().find(|(name, _)| *name == id);
            kinds.extend(own.map_or(&[][..], |(_, own)| own));
            for kind in kinds {
                operation
                    .responses
                    .responses
                    .entry(kind.status().as_str().to_owned())
                    .or_insert_with(|| RefOr::T(problem_answer(kind)));
            }
        }
    }
}

/// A choice whose one member says what is chosen has no other member.
pub fn close_choices(schemas: &mut BTreeMap<String, RefOr<Schema>>) {
    for schema in schemas.values_mut() {
        let RefOr::T(Schema::OneOf(choice)) = schema else {
            continue;
        };
        for form in &mut choice.items {
            if let RefOr::T(Schema::Object(form)) = form
                && form.properties.len() == 1
                && form.required.len() == 1
                && !form.required.iter().any(|name| name == "kind")
            {
                form.additional_properties = Some(Box::new(AdditionalProperties::FreeForm(false)));
            }
        }
    }
}

fn parameter_is_in_query(parameter: &RefOr<Parameter>) -> bool {
    matches!(parameter, RefOr::T(parameter) if parameter.parameter_in == ParameterIn::Query)
}

fn problem_answer(kind: ProblemKind) -> Response {
    let content = ContentBuilder::new()
        .schema(Some(RefOr::<Schema>::Ref(Ref::from_schema_name(
            <ProblemDocument as utoipa::ToSchema>::name(),
        ))))
        .example(Some(example(kind)))
        .build();
    ResponseBuilder::new()
        .description(kind.title())
        .content("application/problem+json", content)
        .build()
}

fn example(kind: ProblemKind) -> Value {
    let mut example = json!({
        "type": kind.address(),
        "title": kind.title(),
        "status": kind.status().as_u16(),
        "detail": kind.advice(),
        "instance": "/requests/0197a3c2-7d1e-7c3a-9b1f-3f0a5b1c2d4e",
    });
    if kind == ProblemKind::Refused {
        example["errors"] = json!([{
            "pointer": "/mass_g",
            "detail": "-3 g is not from 0 to 500000 g.",
        }]);
    }
    if kind == ProblemKind::Stale {
        example["current_revision"] = json!(41);
        example["changes"] = json!([{"pointer": "/permitted_fill_g", "was": 890, "now": 880}]);
    }
    example
}
