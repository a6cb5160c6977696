// A photo from the camera is made small on the device: less to send, and no place or time in it.

const LONGEST_PX = 1600;
const QUALITY = 0.8;

export async function smaller(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const factor = Math.min(1, LONGEST_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * factor));
    canvas.height = Math.max(1, Math.round(picture.height * factor));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((done) => { canvas.toBlob((blob) => done(blob ?? file), "image/jpeg", QUALITY); });
  } catch { return file; }
}
