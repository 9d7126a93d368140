use halfsplit_workshop::{sheet_of, pictures::wiring_of};
fn main() {
    let m = sheet_of(include_str!("../../../machines/unitary-split.toml")).unwrap();
    let p = halfsplit_drawing::wiring(&m, &wiring_of(&m));
    eprintln!("{}", p.description);
    println!("{}", p.standalone());
}
