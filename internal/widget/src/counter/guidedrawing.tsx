// The drawing of how to measure, as a picture that goes with a message.

import { Component, createRef, h, type VNode } from "preact";
import { rebuild } from "../drawing";
import { guideQuery } from "../guide";
import type { Request } from "../request";
import type { Service } from "../service";
import type { Words } from "../words";

interface Props {
  request: Request;
  service: Service;
  words: Words;
  /** the message that it goes with */
  text: () => string;
}

interface State {
  drawing?: VNode | null;
  /** what became of the last press */
  told: string;
}

/** Pixels of the picture for each unit of the drawing, so that it is sharp on a phone. */
const SHARPNESS = 2;

const FILE = "midstroke.png";

export class GuideDrawing extends Component<Props, State> {
  state: State = { told: "" };
  readonly #figure = createRef<HTMLElement>();
  #asked = "";

  componentDidMount(): void {
    void this.#follow();
  }

  componentDidUpdate(): void {
    void this.#follow();
  }

  async #follow(): Promise<void> {
    const { request, service } = this.props;
    const query = guideQuery(request);
    const asked = `${service.lang} ${query}`;
    if (asked === this.#asked) return;
    this.#asked = asked;
    const drawing = await service.guideDrawing(query, "beside").then(rebuild, () => null);
    if (asked === this.#asked) this.setState({ drawing, told: "" });
  }

  render({ words }: Props, { drawing, told }: State) {
    if (!drawing) return null;
    return (
      <div class="guide-drawing">
        <figure class="drawing" ref={this.#figure}>{drawing}</figure>
        <div class="acts">
          {navigator.share !== undefined && <button type="button" class="plain small" data-go="send" onClick={() => void this.#send()}>{words.t("message_send")}</button>}
          <button type="button" class="plain small" data-go="copy_drawing" onClick={() => void this.#copy()}>{words.t("message_copy_drawing")}</button>
          <button type="button" class="plain small" data-go="save_drawing" onClick={() => void this.#save()}>{words.t("message_save_drawing")}</button>
          <span role="status">{told}</span>
        </div>
      </div>
    );
  }

  async #picture(): Promise<Blob> {
    const svg = this.#figure.current?.querySelector("svg");
    if (!svg) throw new Error("there is no drawing");
    return pictureOf(svg);
  }

  /** Sends text and picture by whatever the device has for that. */
  async #send(): Promise<void> {
    const files = [new File([await this.#picture()], FILE, { type: "image/png" })];
    const text = this.props.text();
    // Whoever closes the device's own list has changed their mind.
    await navigator.share(navigator.canShare({ files, text }) ? { files, text } : { text }).catch(() => undefined);
  }

  async #copy(): Promise<void> {
    try {
      await navigator.clipboard.write([new ClipboardItem({ "image/png": this.#picture() })]);
      this.setState({ told: this.props.words.t("counter_copied") });
    } catch {
      await this.#save(); // not allowed here
    }
  }

  async #save(): Promise<void> {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await this.#picture());
    link.download = FILE;
    link.click();
    URL.revokeObjectURL(link.href);
    this.setState({ told: this.props.words.t("message_saved", { file: FILE }) });
  }
}

/** A drawing in black on white, as PNG. */
async function pictureOf(svg: SVGSVGElement): Promise<Blob> {
  const { width, height } = svg.viewBox.baseVal;
  const copy = svg.cloneNode(true) as SVGSVGElement;
  for (const [name, value] of Object.entries({ width: width * SHARPNESS, height: height * SHARPNESS, color: "#000", "font-family": "sans-serif" })) copy.setAttribute(name, String(value));
  const image = new Image();
  image.src = `data:image/svg+xml,${encodeURIComponent(new XMLSerializer().serializeToString(copy))}`;
  await image.decode();
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [image.width, image.height];
  const paper = canvas.getContext("2d");
  if (!paper) throw new Error("the browser doesn't draw");
  paper.fillStyle = "#fff";
  paper.fillRect(0, 0, canvas.width, canvas.height);
  paper.drawImage(image, 0, 0);
  return new Promise((done, failed) => canvas.toBlob((blob) => blob ? done(blob) : failed(new Error("the browser makes no picture")), "image/png"));
}
