//! How lines are published: one form for each kind, and the form of a line as the choice of them.

use crate::auth::rights::{Reach, may_write_kind};
use crate::pit::ids::{LineId, PersonId};
use crate::pit::logbook::{Family, How, Kind, Role, examples, line::DraftForm};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use utoipa::{
    ToSchema as _,
    openapi::{
        KnownFormat, ObjectBuilder, Ref, RefOr,
        example::{Example, ExampleBuilder},
        path::Operation,
        schema::{AdditionalProperties, Discriminator, OneOfBuilder, Schema, Type},
    },
};

use super::operation::text;

type Schemas = BTreeMap<String, RefOr<Schema>>;

/// Adds the body and the line of every kind, and the form of a line, which is one of these lines.
pub fn add_kinds(schemas: &mut Schemas) {
    let mut lines = OneOfBuilder::new().description(Some(
        "A line as it is handed in: its kind says which body it has.",
    ));
    let mut by_kind = Discriminator::new("kind");
    for kind in Kind::ALL {
        let mut bodies = Vec::new();
        let body = kind.schemas(&mut bodies);
        schemas.extend(bodies);
        add_example(schemas.get_mut(&body), examples::body(*kind));
        let name = line_name(*kind);
        let reference = Ref::from_schema_name(&name);
        by_kind
            .mapping
            .insert(kind.name().to_owned(), reference.ref_location.clone());
        lines = lines.item(reference);
        schemas.insert(name, line(*kind, &body).into());
    }
    schemas.insert(
        DraftForm::name().into_owned(),
        Schema::from(lines.discriminator(Some(by_kind)).build()).into(),
    );
}

fn add_example(schema: Option<&mut RefOr<Schema>>, example: Value) {
    match schema {
        Some(RefOr::T(Schema::Object(form))) => form.examples = vec![example],
        Some(RefOr::T(Schema::OneOf(form))) => form.examples = vec![example],
        Some(RefOr::T(_) | RefOr::Ref(_)) | None => {}
    }
}

/// Gives the operation that takes lines an example of every kind that somebody may hand in.
pub fn add_examples(operation: &mut Operation) {
    let Some(RefOr::T(body)) = &mut operation.request_body else {
        return;
    };
    let Some(RefOr::T(content)) = body.content.get_mut("application/json") else {
        return;
    };
    content.example = None;
    for kind in Kind::ALL {
        if kind.family() == Family::Plan {
            continue;
        }
        let report = json!({
            "sent_at": "2027-01-15T14:20:31.250Z", "lines": [examples::line(*kind)],
        });
        let example: Example = ExampleBuilder::new()
            .summary(kind.tells())
            .value(Some(report))
            .build();
        content
            .examples
            .insert(kind.name().to_owned(), example.into());
    }
}

/// `weapon_bar` becomes `WeaponBarLine`.
fn line_name(kind: Kind) -> String {
    let mut name = String::new();
    for word in kind.name().split('_') {
        let mut letters = word.chars();
        name.extend(letters.next().map(|first| first.to_ascii_uppercase()));
        name.push_str(letters.as_str());
    }
    name + "Line"
}

/// The form of a line of `kind`, whose body is called `body`.
fn line(kind: Kind, body: &str) -> Schema {
    let mut line = ObjectBuilder::new()
        .description(Some(told(kind)))
        .additional_properties(Some(AdditionalProperties::<Schema>::FreeForm(false)))
        .property("id", Ref::from_schema_name(LineId::name()))
        .property("kind", one_of([kind.name()]))
        .property(
            "version",
            ObjectBuilder::new()
                .schema_type(Type::Integer)
                .description(Some("Version of the kind's body; 1 if not given."))
                .minimum(Some(1))
                .maximum(Some(1)),
        )
        .property("at", text(KnownFormat::DateTime))
        .property("seen_by", Ref::from_schema_name(PersonId::name()))
        .property("subject", subject(kind))
        .property("corrects", Ref::from_schema_name(LineId::name()))
        .property("body", Ref::from_schema_name(body))
        .required("id")
        .required("kind")
        .required("at")
        .required("subject")
        .required("body")
        .examples([examples::line(kind)]);
    if kind.about_a_state() {
        line = line
            .property("how", one_of([How::Did.as_str(), How::Saw.as_str()]))
            .required("how");
    }
    if kind.family() == Family::Register {
        line = line.property(
            "if_revision",
            ObjectBuilder::new()
                .schema_type(Type::Integer)
                .format(Some(utoipa::openapi::SchemaFormat::KnownFormat(
                    KnownFormat::Int64,
                )))
                .minimum(Some(1))
                .description(Some("The revision it is based on; none for a new thing.")),
        );
    }
    if kind == Kind::Void {
        line = line.required("corrects");
    }
    line.build().into()
}

fn one_of<const N: usize>(words: [&str; N]) -> Schema {
    ObjectBuilder::new()
        .schema_type(Type::String)
        .enum_values(Some(words))
        .build()
        .into()
}

fn subject(kind: Kind) -> Schema {
    const ID: &str = "[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}";
    let form = match kind.subject() {
        "event" => "^event$".to_owned(),
        "any" => format!("^(event|[a-z_]+:{ID})$"),
        noun => format!("^{noun}:{ID}$"),
    };
    ObjectBuilder::new()
        .schema_type(Type::String)
        .pattern(Some(form))
        .description(Some("What it is about."))
        .build()
        .into()
}

/// What a kind tells, who may write it, and what may be answered beyond its being recorded.
fn told(kind: Kind) -> String {
    let mut told = format!("{}\n\n", kind.tells());
    let who = |reach: Reach| {
        let roles = Role::ALL.into_iter();
        let roles: Vec<&str> = roles
            .filter(|role| may_write_kind(*role, kind) == reach)
            .map(Role::as_str)
            .collect();
        roles.join(", ")
    };
    match (who(Reach::OwnTeam), who(Reach::Everything)) {
        (own, all) if own.is_empty() && all.is_empty() => {
            told.push_str("Written by linkout alone.");
        }
        (own, all) if own.is_empty() => told.push_str(&format!("Written by: {all}.")),
        (own, all) if all.is_empty() => {
            told.push_str(&format!("Written for their own team by: {own}."));
        }
        (own, all) => {
            told.push_str(&format!(
                "Written for their own team by: {own}; for every team by: {all}."
            ));
        }
    }
    told.push_str(
        " Refused with `not-allowed` to others, `unknown` for another team's things, `refused` for \
         a value out of bounds or a thing that is not registered, `conflict` if the id was used \
         for another line",
    );
    told.push_str(match kind.family() {
        Family::Register => {
            ", or a name is taken, and `stale` if `if_revision` is not the thing's last."
        }
        Family::Fact | Family::Plan => "; never because what it reports is unsafe.",
    });
    told
}

/// What the form of a thing refers to when a thing is published as a resource.
pub fn body_with_example(kind: Kind, mut form: RefOr<Schema>) -> RefOr<Schema> {
    add_example(Some(&mut form), examples::body(kind));
    form
}
