//! The fields of a request, each once: of two fields of one name, nobody can say which is meant.

use std::collections::BTreeSet;
use std::fmt;

use benchhand_wire::{Reason, Refusal};
use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

/// The fields of a query.
pub(super) fn of_query(pairs: Vec<(String, String)>) -> Result<Value, Refusal> {
    let mut fields = Map::new();
    for (name, value) in pairs {
        if fields.insert(name.clone(), Value::String(value)).is_some() {
            let found = format!("the field {name:?} stands in the query twice");
            return Err(Refusal::new(Reason::BadInput, found));
        }
    }
    Ok(Value::Object(fields))
}

/// The fields of a JSON body.
pub(super) fn of_body(body: &[u8]) -> Result<Value, Refusal> {
    let refused = |found: String| {
        Refusal::new(Reason::BadInput, found).expected("one JSON object with the fields by name")
    };
    match serde_json::from_slice(body) {
        Ok(Once(fields @ Value::Object(_))) => Ok(fields),
        Ok(_) => Err(refused("the body is no object".to_owned())),
        Err(error) => Err(refused(format!("the body is no JSON: {error}"))),
    }
}

/// JSON in which every name of an object stands once.
struct Once(Value);

impl<'de> Deserialize<'de> for Once {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Once, D::Error> {
        from.deserialize_any(Reader).map(Once)
    }
}

struct Reader;

impl<'de> Visitor<'de> for Reader {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut all = Vec::new();
        while let Some(Once(one)) = list.next_element()? {
            all.push(one);
        }
        Ok(Value::Array(all))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut object: A) -> Result<Value, A::Error> {
        let (mut fields, mut seen) = (Map::new(), BTreeSet::new());
        while let Some(name) = object.next_key::<String>()? {
            if !seen.insert(name.clone()) {
                return Err(A::Error::custom(format!("the field {name:?} stands twice")));
            }
            let Once(value) = object.next_value()?;
            fields.insert(name, value);
        }
        Ok(Value::Object(fields))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_body_is_one_object_whose_fields_stand_once() {
        let read = of_body(br#"{"job": "v8", "levels": [{"from": 1.5}], "sure": null}"#).unwrap();
        let whole = json!({"job": "v8", "levels": [{"from": 1.5}], "sure": null});
        assert_eq!(read, whole);
        for wrong in [
            r#"{"job": "a", "job": "b"}"#,
            r#"{"levels": [{"from": 1, "from": 2}]}"#,
            r#"["v8", "chamber/1"]"#,
            r#""v8""#,
            "",
            "{",
        ] {
            assert!(of_body(wrong.as_bytes()).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_field_of_a_query_stands_once() {
        let pair = |name: &str| (name.to_owned(), "v8".to_owned());
        assert_eq!(of_query(vec![pair("job")]).unwrap(), json!({"job": "v8"}));
        assert!(of_query(vec![pair("job"), pair("job")]).is_err());
    }
}
