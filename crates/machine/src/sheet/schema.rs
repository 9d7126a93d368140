//! JSON Schema and field reference of the sheet, generated from the types.

use serde_json::Value;

use super::Sheet;

/// JSON Schema (draft 2020-12) of the machine sheet, with the class names of the library filled in.
pub fn json_schema() -> Value {
    let mut schema = serde_json::to_value(schemars::schema_for!(Sheet)).unwrap_or_default();
    let classes: Vec<_> = crate::library::CLASSES.iter().map(|c| Value::from(c.name)).collect();
    if let Some(class) = schema.pointer_mut("/$defs/PartEntry/properties/class") {
        class["enum"] = classes.into();
    }
    schema["title"] = "halfsplit machine sheet, format 1".into();
    schema
}

/// The fields of the sheet as Markdown, one table per section in the order of the sheet, from the same schema.
pub fn reference() -> String {
    let schema = json_schema();
    let mut page = Page { schema: &schema, out: String::new(), done: Vec::new() };
    page.out.push_str(
        "# The machine sheet, field by field\n\nMade from the types of the program: `halfsplit sheet fields` prints the \
         same. A sheet is a TOML text.\n\n",
    );
    page.table("At the top", &schema, "");
    page.out
}

/// A reference being written.
struct Page<'s> {
    schema: &'s Value,
    out: String,
    done: Vec<String>,
}

/// What a field holds.
struct Holds<'s> {
    words: String,
    /// The section that describes it, and whether there is a list of them.
    section: Option<(&'s str, bool)>,
}

impl<'s> Page<'s> {
    fn definition(&self, name: &str) -> &'s Value {
        &self.schema["$defs"][name]
    }

    /// Writes a section's table and then the sections that it leads to.
    fn table(&mut self, heading: &str, section: &'s Value, path: &str) {
        let required: Vec<&str> =
            section["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        self.out.push_str(&format!("## {heading}\n\n{}\n\n", one_line(&section["description"])));
        self.out.push_str("| field | holds | if left out | meaning |\n|---|---|---|---|\n");
        let mut below = Vec::new();
        for (key, field) in section["properties"].as_object().into_iter().flatten() {
            let holds = self.holds(field);
            let left_out = match &field["default"] {
                _ if required.contains(&key.as_str()) => "an error".to_owned(),
                Value::Null | Value::Array(_) | Value::Object(_) => String::new(),
                default => format!("`{default}`"),
            };
            self.out.push_str(&format!(
                "| `{key}` | {} | {left_out} | {} |\n",
                holds.words,
                one_line(&field["description"])
            ));
            if let Some((name, many)) = holds.section {
                below.push((key.clone(), name, many));
            }
        }
        self.out.push('\n');
        for (key, name, many) in below {
            if self.done.iter().any(|d| d == name) {
                continue;
            }
            self.done.push(name.to_owned());
            let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
            let definition = self.definition(name);
            if definition.get("properties").is_some() {
                let heading = if many { format!("`[[{path}]]`") } else { format!("`[{path}]`") };
                self.table(&heading, definition, &path);
            } else {
                self.choices(&key, definition);
            }
        }
    }

    /// Writes the words that a field may hold, or the shapes.
    fn choices(&mut self, key: &str, definition: &Value) {
        self.out.push_str(&format!("### Values of `{key}`\n\n{}\n\n", one_line(&definition["description"])));
        let options = definition["oneOf"].as_array().or(definition["anyOf"].as_array());
        for o in options.into_iter().flatten() {
            match o["const"].as_str() {
                Some(word) => self.out.push_str(&format!("- `\"{word}\"`: {}\n", one_line(&o["description"]))),
                None => self.out.push_str(&format!("- {}\n", one_line(&o["description"]))),
            }
        }
        self.out.push('\n');
    }

    fn holds(&self, field: &'s Value) -> Holds<'s> {
        let named = |v: &'s Value| v["$ref"].as_str().and_then(|r| r.rsplit('/').next());
        let reference = named(field)
            .or_else(|| field["anyOf"].as_array().into_iter().flatten().find_map(named))
            .or_else(|| field["allOf"].as_array().into_iter().flatten().find_map(named));
        if let Some(name) = reference {
            let section = self.definition(name).get("properties").is_some();
            return Holds { words: if section { "table" } else { "word" }.into(), section: Some((name, false)) };
        }
        let kind = field["type"].as_str().or_else(|| field["type"].as_array()?.first()?.as_str()).unwrap_or_default();
        match kind {
            "array" => {
                let item = self.holds(&field["items"]);
                let words = match item.words.strip_prefix("list ") {
                    Some(rest) => format!("list of lists {rest}"),
                    None => format!("list of {}s", item.words),
                };
                Holds { words, section: item.section.map(|(name, _)| (name, true)) }
            }
            "object" => {
                let value = self.holds(&field["additionalProperties"]);
                Holds { words: "table".into(), section: value.section }
            }
            "string" => Holds { words: "text".into(), section: None },
            "boolean" => Holds { words: "true or false".into(), section: None },
            _ => Holds { words: "number".into(), section: None },
        }
    }
}

fn one_line(description: &Value) -> String {
    description.as_str().unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_reference_covers_every_section_and_field() {
        let (schema, page) = (json_schema(), reference());
        let definitions = schema["$defs"].as_object().expect("definitions");
        for section in [&schema].into_iter().chain(definitions.values()) {
            for field in section["properties"].as_object().into_iter().flatten().map(|(k, _)| k) {
                assert!(page.contains(&format!("| `{field}` |")), "{field}");
            }
        }
        for heading in
            ["`[nameplate]`", "`[[part]]`", "`[[command.stage]]`", "Values of `watches`", "Values of `valve`"]
        {
            assert!(page.contains(&format!("# {heading}\n")), "{heading}");
        }
    }

    #[test]
    fn the_schema_names_the_classes() {
        let schema = json_schema();
        let classes = schema.pointer("/$defs/PartEntry/properties/class/enum").and_then(Value::as_array);
        assert!(classes.is_some_and(|c| c.contains(&Value::from("run capacitor"))));
    }
}
